// SPDX-License-Identifier: Apache-2.0
// How a request goes through libmicrohttpd: on_target (the target as it came in, before anything is decoded) makes an
// Exchange; on_request is called with the head, then with pieces of the body, then without, and again after the
// connection was set aside; on_completed frees the Exchange. A connection that is set aside is not watched by the
// library: Connections looks after it.
#include "http/server.h"

#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstring>
#include <thread>

#include "http/addresses.h"
#include "http/connections.h"
#include "http/microhttpd.h"

namespace halfsplit::http {

namespace {

constexpr std::size_t kMemoryPerConnection = std::size_t{32} << 10U;  // head included: the cap of all headers together
constexpr unsigned kIdleSeconds = 60;
constexpr std::size_t kStreamBlock = 4096;
constexpr std::size_t kMostDropped = std::size_t{64} << 20U;  // bytes of a body nobody wants
constexpr auto kLookEvery = std::chrono::milliseconds(100);
constexpr std::int64_t kBeatEveryMs = 15'000;
constexpr std::size_t kMostStreams = 64;

std::int64_t now_ms() {
  const auto since = std::chrono::steady_clock::now().time_since_epoch();
  return std::chrono::duration_cast<std::chrono::milliseconds>(since).count();
}

// Called only by what the library calls, or after serve() has looked that it is there.
const MicroHttpd& mhd() { return *load_microhttpd(); }

int socket_of(MHD_Connection* connection) {
  const MHD_ConnectionInfo* info = mhd().get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
  return info == nullptr ? -1 : info->connect_fd;
}

std::string peer_of(MHD_Connection* connection) {
  const MHD_ConnectionInfo* info = mhd().get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
  return peer_text(info == nullptr ? nullptr : info->client_addr);
}

MHD_Result add_header(void* headers, MHD_ValueKind, const char* name, const char* value) {
  std::string key = name == nullptr ? "" : name;
  for (char& c : key)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  static_cast<RequestHead*>(headers)->headers.emplace_back(std::move(key), value == nullptr ? "" : value);
  return MHD_YES;
}

// By Content-Length; without one: nothing for a request without a body, "too much" for one in pieces.
std::size_t told_length(const RequestHead& head) {
  if (find_header(head, "transfer-encoding").value) return SIZE_MAX;
  const std::string text = find_header(head, "content-length").value.value_or("0");
  const bool number = !text.empty() && text.size() < 12 && text.find_first_not_of("0123456789") == std::string::npos;
  return number ? std::stoull(text) : SIZE_MAX;
}

// One request on its way.
struct Exchange {
  std::string target;
  bool begun = false;
  RequestHead head;
  Decision decision;
  std::string body;
  std::shared_ptr<Spool> spool;  // takes the body instead, of a recording
  bool too_large = false;
  bool running = false;  // set aside for an operation
  std::mutex mutex;      // of what follows, which another thread sets
  bool finished = false;
  Answer answer;
};

struct Stream {
  std::shared_ptr<Listener> listener;
  Events* events = nullptr;
  MHD_Connection* connection = nullptr;
};

ssize_t next_events(void* data, std::uint64_t, char* into, std::size_t most) {
  auto& stream = *static_cast<Stream*>(data);
  bool ended = false;
  const std::size_t count = stream.listener->take(into, most, ended);
  if (count > 0) return static_cast<ssize_t>(count);
  if (ended) return MHD_CONTENT_READER_END_OF_STREAM;
  mhd().suspend_connection(stream.connection);
  if (!stream.listener->fall_asleep()) mhd().resume_connection(stream.connection);
  return 0;
}

void end_stream(void* data) {
  const std::unique_ptr<Stream> stream(static_cast<Stream*>(data));
  stream->events->forget(stream->listener);
}

}  // namespace

class Server::Wire {
 public:
  Wire(Door& door, Log& log) : door_(door), log_(log), keeper_([this] { keep(); }) {}
  ~Wire() { stop(); }
  Wire(const Wire&) = delete;
  Wire& operator=(const Wire&) = delete;

  bool serve(int socket);
  void stop();

 private:
  static void* on_target(void* self, const char* target, MHD_Connection* connection) {
    static_cast<Wire*>(self)->connections_.enter(socket_of(connection), Phase::kReading, now_ms());
    auto exchange = std::make_unique<Exchange>();
    exchange->target = target;
    return exchange.release();
  }
  static void on_completed(void* self, MHD_Connection* connection, void** slot, MHD_RequestTerminationCode) {
    delete static_cast<Exchange*>(*slot);
    *slot = nullptr;
    static_cast<Wire*>(self)->connections_.enter(socket_of(connection), Phase::kIdle, now_ms());
  }
  static MHD_Result on_peer(void* self, const sockaddr* address, socklen_t) {
    return static_cast<Wire*>(self)->connections_.may_open(peer_text(address)) ? MHD_YES : MHD_NO;
  }
  static void on_connection(void* self, MHD_Connection* connection, void** socket_slot,
                            MHD_ConnectionNotificationCode code) {
    auto& connections = static_cast<Wire*>(self)->connections_;
    if (code == MHD_CONNECTION_NOTIFY_STARTED) {
      const int socket = socket_of(connection);
      *socket_slot = reinterpret_cast<void*>(static_cast<std::intptr_t>(socket));
      connections.opened(socket, peer_of(connection), now_ms());
    } else {
      connections.closed(static_cast<int>(reinterpret_cast<std::intptr_t>(*socket_slot)));
    }
  }
  static MHD_Result on_request(void* self, MHD_Connection* connection, const char*, const char* method, const char*,
                               const char* data, std::size_t* size, void** slot) {
    return static_cast<Wire*>(self)->take(connection, method, data, *size, *static_cast<Exchange*>(*slot));
  }
  static std::size_t leave_escaped(void*, MHD_Connection*, char* text) { return std::strlen(text); }

  MHD_Result take(MHD_Connection* connection, const char* method, const char* data, std::size_t& size,
                  Exchange& exchange);
  MHD_Result begin(MHD_Connection* connection, const char* method, Exchange& exchange);
  void no_room(Exchange& exchange);
  MHD_Result finish(MHD_Connection* connection, Exchange& exchange);
  MHD_Result run(MHD_Connection* connection, Exchange& exchange);
  MHD_Result stream(MHD_Connection* connection, const Exchange& exchange);
  MHD_Result send(MHD_Connection* connection, const Answer& answer);
  void keep();

  Door& door_;
  Log& log_;
  Connections connections_;
  std::vector<MHD_Daemon*> daemons_;
  std::mutex mutex_;  // of the keeper's sleep
  std::condition_variable wake_;
  bool stopping_ = false;
  std::thread keeper_;
};

bool Server::Wire::serve(int socket) {
  if (load_microhttpd() == nullptr) return false;
  const unsigned flags = MHD_USE_EPOLL | MHD_USE_INTERNAL_POLLING_THREAD | MHD_ALLOW_SUSPEND_RESUME;
  MHD_Daemon* daemon = mhd().start_daemon(
      flags, 0, &Wire::on_peer, this, &Wire::on_request, this, MHD_OPTION_LISTEN_SOCKET, socket,
      MHD_OPTION_URI_LOG_CALLBACK, &Wire::on_target, this, MHD_OPTION_NOTIFY_COMPLETED, &Wire::on_completed, this,
      MHD_OPTION_NOTIFY_CONNECTION, &Wire::on_connection, this, MHD_OPTION_UNESCAPE_CALLBACK, &Wire::leave_escaped,
      nullptr, MHD_OPTION_CONNECTION_MEMORY_LIMIT, kMemoryPerConnection, MHD_OPTION_CONNECTION_TIMEOUT, kIdleSeconds,
      MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_END);
  if (daemon == nullptr) return false;
  daemons_.push_back(daemon);
  return true;
}

void Server::Wire::stop() {
  {
    const std::lock_guard lock(mutex_);
    if (stopping_) return;
    stopping_ = true;
  }
  wake_.notify_all();
  keeper_.join();
  std::vector<int> listening;
  for (MHD_Daemon* daemon : daemons_) listening.push_back(mhd().quiesce_daemon(daemon));
  door_.stop();  // all runs are done, all streams awake: nothing is set aside any more
  for (MHD_Daemon* daemon : daemons_) mhd().stop_daemon(daemon);
  for (const int socket : listening) ::close(socket);
  daemons_.clear();
}

void Server::Wire::keep() {
  std::int64_t beat_ms = now_ms();
  std::unique_lock lock(mutex_);
  while (!wake_.wait_for(lock, kLookEvery, [this] { return stopping_; })) {
    lock.unlock();
    const std::int64_t now = now_ms();
    const std::size_t cut = connections_.look_after(now);
    if (cut > 0) log_.line("cut " + std::to_string(cut) + " slow connection" + (cut == 1 ? "" : "s"));
    if (now - beat_ms >= kBeatEveryMs) {
      beat_ms = now;
      door_.events().heartbeat();
    }
    lock.lock();
  }
}

MHD_Result Server::Wire::take(MHD_Connection* connection, const char* method, const char* data, std::size_t& size,
                              Exchange& exchange) {
  if (!exchange.begun) return begin(connection, method, exchange);
  if (exchange.decision.route == Route::kRefused) {
    if (size == 0) return send(connection, Door::refusal(exchange.decision, exchange.head));
    size = 0;
    return MHD_YES;
  }
  if (size > 0) {
    const std::size_t before = exchange.spool != nullptr ? exchange.spool->size() : exchange.body.size();
    if (before + size > exchange.decision.most_body)
      exchange.too_large = true;
    else if (exchange.spool != nullptr && !exchange.spool->append({data, size}))
      no_room(exchange);
    else if (exchange.spool == nullptr)
      exchange.body.append(data, size);
    size = 0;
    // A body that never says how long it is has had enough; the answer would come too late anyway.
    return exchange.too_large ? MHD_NO : MHD_YES;
  }
  return finish(connection, exchange);
}

// The rest of the body is dropped, then this is the answer.
void Server::Wire::no_room(Exchange& exchange) {
  Decision& decision = exchange.decision;
  decision.route = Route::kRefused;
  decision.status = 503;
  decision.code = "http.no-room";
  decision.message = "there is no room for a recording just now";
  decision.hint = "wait until others are done, or make room on the disk of the book";
  exchange.spool.reset();
  log_.refused(exchange.head.method, exchange.head.target, exchange.head.peer, decision.code);
}

MHD_Result Server::Wire::begin(MHD_Connection* connection, const char* method, Exchange& exchange) {
  exchange.begun = true;
  exchange.head.method = method;
  exchange.head.target = std::move(exchange.target);
  exchange.head.peer = peer_of(connection);
  exchange.head.peer_is_here = is_loopback(exchange.head.peer);
  mhd().get_connection_values(connection, MHD_HEADER_KIND, &add_header, &exchange.head);
  exchange.decision = door_.decide(exchange.head, now_ms());
  const Decision& decision = exchange.decision;
  if (decision.route == Route::kRefused)
    log_.refused(exchange.head.method, exchange.head.target, exchange.head.peer, decision.code);
  const std::size_t length = told_length(exchange.head);
  // An answer given before the body was taken is lost when the line is closed over it, so a body that says its length
  // is taken and dropped. One that does not say it, or says too much, is not waited for.
  if (decision.route == Route::kRefused && length > kMostDropped)
    return send(connection, Door::refusal(decision, exchange.head));
  if (decision.route == Route::kAddRecording) {
    exchange.spool = door_.make_spool();
    if (exchange.spool == nullptr) no_room(exchange);
    connections_.enter(socket_of(connection), Phase::kReadingFile, now_ms());
  } else if (length > kMostJsonBody)
    connections_.enter(socket_of(connection), Phase::kReadingMuch, now_ms());
  return MHD_YES;
}

MHD_Result Server::Wire::finish(MHD_Connection* connection, Exchange& exchange) {
  const Route route = exchange.decision.route;
  if (route == Route::kEvents) return stream(connection, exchange);
  if (route == Route::kOperation || route == Route::kOperations || route == Route::kAddPhoto ||
      route == Route::kAddRecording)
    return run(connection, exchange);
  return send(connection, door_.answer(exchange.decision, exchange.head, exchange.body, now_ms()));
}

MHD_Result Server::Wire::run(MHD_Connection* connection, Exchange& exchange) {
  if (exchange.running) {
    const std::lock_guard lock(exchange.mutex);
    if (!exchange.finished) return MHD_YES;
    return send(connection, exchange.answer);
  }
  exchange.running = true;
  const base::CancelToken cancel;
  connections_.works(socket_of(connection), cancel, now_ms());
  mhd().suspend_connection(connection);
  door_.run(exchange.decision, {exchange.body, std::move(exchange.spool)}, cancel,
            [&exchange, connection](Answer answer) {
              {
                const std::lock_guard lock(exchange.mutex);
                exchange.answer = std::move(answer);
                exchange.finished = true;
              }
              mhd().resume_connection(connection);
            });
  return MHD_YES;
}

MHD_Result Server::Wire::stream(MHD_Connection* connection, const Exchange& exchange) {
  if (door_.events().count() >= kMostStreams)
    return send(connection, error_answer(503, "http.busy", "too many screens listen already", ""));
  const auto job = exchange.decision.query.find("job");
  auto stream = std::make_unique<Stream>();
  stream->events = &door_.events();
  stream->connection = connection;
  stream->listener =
      door_.events().listen(job == exchange.decision.query.end() ? "" : job->second, exchange.decision.session,
                            [connection] { mhd().resume_connection(connection); });
  MHD_Response* response =
      mhd().create_response_from_callback(MHD_SIZE_UNKNOWN, kStreamBlock, &next_events, stream.get(), &end_stream);
  if (response == nullptr) return MHD_NO;
  (void)stream.release();
  for (const auto& [name, value] : guard_headers()) mhd().add_response_header(response, name.data(), value.data());
  mhd().add_response_header(response, "Content-Type", "text/event-stream; charset=utf-8");
  mhd().add_response_header(response, "Cache-Control", "no-store");
  connections_.enter(socket_of(connection), Phase::kStreaming, now_ms());
  const MHD_Result queued = mhd().queue_response(connection, 200, response);
  mhd().destroy_response(response);
  return queued;
}

MHD_Result Server::Wire::send(MHD_Connection* connection, const Answer& answer) {
  const bool lasting = !answer.lasting.empty();
  const std::string_view bytes = lasting ? answer.lasting : std::string_view(answer.body);
  MHD_Response* response = mhd().create_response_from_buffer(bytes.size(), const_cast<char*>(bytes.data()),
                                                             lasting ? MHD_RESPMEM_PERSISTENT : MHD_RESPMEM_MUST_COPY);
  if (response == nullptr) return MHD_NO;
  const auto own = [&](std::string_view name) {
    for (const auto& [key, value] : answer.headers)
      if (key == name) return true;
    return false;
  };
  for (const auto& [name, value] : guard_headers())
    if (!own(name)) mhd().add_response_header(response, name.data(), value.data());
  mhd().add_response_header(response, "Content-Type", answer.type.c_str());
  if (!own("Cache-Control"))
    mhd().add_response_header(response, "Cache-Control", own("ETag") ? "no-cache" : "no-store");
  for (const auto& [name, value] : answer.headers) mhd().add_response_header(response, name.c_str(), value.c_str());
  connections_.enter(socket_of(connection), Phase::kSending, now_ms());
  const MHD_Result queued = mhd().queue_response(connection, static_cast<unsigned>(answer.status), response);
  mhd().destroy_response(response);
  return queued;
}

Server::Server(Door& door, Log& log) : wire_(std::make_unique<Wire>(door, log)) {}
Server::~Server() = default;
bool Server::serve(int socket) { return wire_->serve(socket); }
void Server::stop() { wire_->stop(); }

}  // namespace halfsplit::http
