// SPDX-License-Identifier: Apache-2.0
#include "http/runs.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include "app/book_files.h"
#include "app/profile_files.h"
#include "base/check.h"
#include "http/answer.h"
#include "system/threads.h"

namespace halfsplit::http {

namespace {

constexpr std::size_t kMostWaiting = 64;
constexpr auto kBetweenReports = std::chrono::milliseconds(200);

class ToldProgress final : public base::Progress {
 public:
  ToldProgress(Events& events, std::string job, std::string operation)
      : events_(events), job_(std::move(job)), operation_(std::move(operation)) {}

  void report(std::string_view what, double fraction) override {
    const auto now = std::chrono::steady_clock::now();
    if (now - last_ < kBetweenReports) return;
    last_ = now;
    app::Json data;
    data["job"] = job_;
    data["operation"] = operation_;
    data["what"] = std::string(what);
    data["fraction"] = fraction;
    events_.tell(job_, "progress", data.dump(-1, ' ', false, app::Json::error_handler_t::replace));
  }

 private:
  Events& events_;
  std::string job_, operation_;
  std::chrono::steady_clock::time_point last_ = std::chrono::steady_clock::now();
};

// What these do goes past the files, so a write does not show it.
bool changes_the_book(const Run& run) {
  const std::string act = run.arguments.get("do");
  if (run.operation == "shelf") return act == "put" || act == "remove" || act == "restore";
  return run.operation == "jobs" && (act == "import" || act == "remove" || act == "restore" || act == "photo" ||
                                     act == "photo-remove" || act == "recording" || act == "recording-remove" ||
                                     run.arguments.has("forget") || run.arguments.has("remember"));
}

// To everybody who looks at that job; "book:" alone, a drawing or the profile to all.
void tell_written(Events& events, const std::string& path) {
  const std::string name = quote_json(path);
  if (path.starts_with("book:") && path.size() > 5)
    events.tell(path, "changed", "{\"job\":" + name + ",\"path\":" + name + "}");
  else
    events.tell("", "changed", "{\"path\":" + name + "}");
}

}  // namespace

struct Runs::Desk {
  app::BookFiles book;
  app::ProfileFiles profiled;
  GuardedFiles files;
  system::Threads hands;  // outlives what the cache keeps of it
  std::shared_ptr<app::Cache> cache = app::make_cache();
  std::string job;          // of the run before
  std::size_t used_at = 0;  // counts up
  bool busy = false;

  Desk(const Setup& setup, Events& events)
      : book(setup.disk, setup.clock, setup.book_folder),
        profiled(book, setup.book_folder),
        files(profiled, setup.own_meter, [&events](const std::string& path) { tell_written(events, path); }) {}
};

Runs::Runs(Setup setup, Events& events) : setup_(std::move(setup)), events_(events) {
  for (unsigned i = 0; i < setup_.threads; ++i) desks_.push_back(std::make_unique<Desk>(setup_, events_));
  for (unsigned i = 0; i < setup_.threads; ++i) threads_.emplace_back([this] { work(); });
}

Runs::~Runs() { stop(); }

bool Runs::submit(Run run) {
  const app::Operation* operation = app::find_operation(run.operation);
  Task task{std::move(run), "", false, false};
  task.job = task.run.arguments.get("job");
  task.only_reads = operation == nullptr || operation->only_reads;
  task.takes_long = operation != nullptr && operation->takes_long;
  {
    const std::lock_guard lock(mutex_);
    if (stopping_ || waiting_.size() >= kMostWaiting) return false;
    waiting_.push_back(std::move(task));
  }
  changed_.notify_one();
  return true;
}

std::size_t Runs::cancel(const std::string& job, const std::string& operation) {
  const std::lock_guard lock(mutex_);
  std::size_t count = 0;
  for (const std::list<Task>* tasks : {&waiting_, &running_})
    for (const Task& task : *tasks) {
      if ((!job.empty() && task.job != job) || (!operation.empty() && task.run.operation != operation)) continue;
      task.run.cancel.cancel();
      ++count;
    }
  return count;
}

void Runs::stop() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
    for (const std::list<Task>* tasks : {&waiting_, &running_})
      for (const Task& task : *tasks) task.run.cancel.cancel();
  }
  changed_.notify_all();
  for (std::thread& thread : threads_)
    if (thread.joinable()) thread.join();
}

bool Runs::can_start(const Task& task) const {
  if (task.run.cancel.cancelled()) return true;  // only to be answered
  if (!task.only_reads && writing_.contains(task.job)) return false;
  return !task.takes_long || desks_.size() == 1 || long_running_ + 1 < desks_.size();
}

std::list<Runs::Task>::iterator Runs::find_next() {
  // In order of arrival: a run that must wait holds back later ones that may change the same job.
  std::set<std::string> held;
  for (auto task = waiting_.begin(); task != waiting_.end(); ++task) {
    if (can_start(*task) && (task->only_reads || !held.contains(task->job))) return task;
    if (!task->only_reads) held.insert(task->job);
  }
  return waiting_.end();
}

Runs::Desk& Runs::find_desk(const std::string& job) {
  Desk* best = nullptr;
  for (const std::unique_ptr<Desk>& desk : desks_) {
    if (desk->busy) continue;
    const bool knows = desk->job == job;
    const bool best_knows = best != nullptr && best->job == job;
    if (best == nullptr || (knows && !best_knows) || (knows == best_knows && desk->used_at > best->used_at))
      best = desk.get();
  }
  HS_CHECK(best != nullptr, "there are as many desks as threads");
  return *best;
}

std::string Runs::run_at(Desk& desk, const Task& task) {
  const std::string cancelled = error_answer(200, "run.cancelled", task.run.operation + " was cancelled", "").body;
  if (task.run.cancel.cancelled()) return cancelled;
  const std::size_t writes = desk.files.writes();
  ToldProgress progress(events_, task.job, task.run.operation);
  app::Context context{desk.files, setup_.clock, *desk.cache, &progress, task.run.cancel, setup_.own_meter};
  context.book = &desk.book;
  context.workers = &desk.hands;
  desk.files.set_upload(&task.run.upload);
  desk.files.set_spool(task.run.spool);
  const app::Reply reply = app::run_operation(context, task.run.operation, task.run.arguments);
  desk.files.set_upload(nullptr);
  desk.files.set_spool(nullptr);
  const bool changed = changes_the_book(task.run);
  if (reply.exit_code == 0 && changed) tell_written(events_, task.run.operation == "jobs" ? "book:" : "shelf:");
  // An answer that was cut short is none; what was entered all the same is told as it is.
  if (task.run.cancel.cancelled() && !changed && desk.files.writes() == writes) return cancelled;
  return app::to_json_text(reply);
}

void Runs::work() {
  std::unique_lock lock(mutex_);
  for (;;) {
    std::list<Task>::iterator next;
    changed_.wait(lock, [&] { return (next = find_next()) != waiting_.end() || (stopping_ && waiting_.empty()); });
    if (next == waiting_.end()) return;
    running_.splice(running_.end(), waiting_, next);
    Task& task = *next;
    Desk& desk = find_desk(task.job);
    desk.busy = true;
    desk.used_at = ++turn_;
    if (!task.job.empty()) desk.job = task.job;
    const auto held = task.only_reads ? writing_.end() : writing_.insert(task.job);
    if (task.takes_long) ++long_running_;
    lock.unlock();
    std::string bytes = run_at(desk, task);
    lock.lock();
    desk.busy = false;
    if (task.takes_long) --long_running_;
    if (held != writing_.end()) writing_.erase(held);
    std::function<void(std::string)> done = std::move(task.run.done);
    running_.erase(next);
    changed_.notify_all();
    lock.unlock();
    done(std::move(bytes));
    lock.lock();
  }
}

}  // namespace halfsplit::http
