// SPDX-License-Identifier: Apache-2.0
// Operations at work for the page, on a few threads. What may change a job waits for the others that may change the
// same one, so that each reads what the one before wrote; what only reads waits for nobody. Long work never takes the
// last thread. Each run has a desk to itself: files and a cache of looms, the one that had the same job before when it
// is free; engines are never shared by two threads.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <functional>
#include <list>
#include <memory>
#include <mutex>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "app/operation.h"
#include "http/events.h"
#include "http/guarded_files.h"

namespace halfsplit::http {

struct Run {
  std::string operation;
  app::Arguments arguments;
  base::CancelToken cancel;
  std::function<void(std::string)> done;  // with the bytes of the reply, on a thread of ours; called exactly once
  std::string upload = {};                // what kUploadPath reads as
  std::shared_ptr<Spool> spool = {};      // what kUploadedRecording reads as
};

class Runs {
 public:
  struct Setup {
    unsigned threads = 2;
    base::Files& disk;  // safe for several threads
    base::Clock& clock;
    std::string book_folder;
    std::string own_meter;
  };

  Runs(Setup setup, Events& events);
  ~Runs();
  Runs(const Runs&) = delete;
  Runs& operator=(const Runs&) = delete;

  // False: too many wait already, and `done` will not be called.
  [[nodiscard]] bool submit(Run run);
  // Cancels what runs or waits on that job (empty: any) by that name (empty: any); how many there were.
  std::size_t cancel(const std::string& job, const std::string& operation);
  // Cancels everything and waits for it.
  void stop();

 private:
  struct Desk;
  struct Task {
    Run run;
    std::string job;
    bool only_reads = false;
    bool takes_long = false;
  };

  void work();
  [[nodiscard]] bool can_start(const Task& task) const;
  [[nodiscard]] std::list<Task>::iterator find_next();
  [[nodiscard]] Desk& find_desk(const std::string& job);
  [[nodiscard]] std::string run_at(Desk& desk, const Task& task);

  Setup setup_;
  Events& events_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::list<Task> waiting_;
  std::list<Task> running_;
  std::multiset<std::string> writing_;  // jobs that a run may be changing
  std::size_t long_running_ = 0;
  std::size_t turn_ = 0;
  bool stopping_ = false;
  std::vector<std::unique_ptr<Desk>> desks_;
  std::vector<std::thread> threads_;
};

}  // namespace halfsplit::http
