// SPDX-License-Identifier: Apache-2.0
#include "http/gate.h"

#include <algorithm>
#include <array>
#include <optional>
#include <string_view>

namespace halfsplit::http {

namespace {

Decision refuse(int status, std::string code, std::string message, std::string hint = "") {
  Decision decision;
  decision.status = status;
  decision.code = std::move(code);
  decision.message = std::move(message);
  decision.hint = std::move(hint);
  return decision;
}

enum class Who { kAnybody, kSession, kHere };

struct RouteRecord {
  std::string_view path;  // ends with "/": what follows is the name
  std::string_view method;
  Route route;
  Who who;
  std::string_view type;  // what the body must be; empty: no body
  std::size_t most_body;
};

// First match. POST /api/NAME of our own come before the operations.
constexpr std::array kRoutes{
    RouteRecord{"/start", "GET", Route::kStart, Who::kAnybody, "", 0},
    RouteRecord{"/pair", "GET", Route::kPairForm, Who::kAnybody, "", 0},
    RouteRecord{"/pair", "POST", Route::kPair, Who::kAnybody, "application/x-www-form-urlencoded", kMostFormBody},
    RouteRecord{"/events", "GET", Route::kEvents, Who::kSession, "", 0},
    RouteRecord{"/api/operations", "GET", Route::kOperations, Who::kSession, "", 0},
    RouteRecord{"/api/session", "GET", Route::kSession, Who::kSession, "", 0},
    RouteRecord{"/api/cancel", "POST", Route::kCancel, Who::kSession, "application/json", kMostJsonBody},
    RouteRecord{"/api/devices", "GET", Route::kDevices, Who::kHere, "", 0},
    RouteRecord{"/api/devices/revoke", "POST", Route::kRevoke, Who::kHere, "application/json", kMostJsonBody},
    RouteRecord{"/api/devices/pair", "POST", Route::kMakePairing, Who::kHere, "application/json", kMostJsonBody},
    RouteRecord{"/api/", "POST", Route::kOperation, Who::kSession, "application/json", kMostJsonBody},
    RouteRecord{"/photo", "POST", Route::kAddPhoto, Who::kSession, "image/", kMostPhotoBody},
    RouteRecord{"/photo/", "GET", Route::kPhoto, Who::kSession, "", 0},
    RouteRecord{"/recording", "POST", Route::kAddRecording, Who::kSession, "application/octet-stream",
                kMostRecordingBody},
    RouteRecord{"/", "GET", Route::kAsset, Who::kAnybody, "", 0},
};

bool fits(const RouteRecord& record, const std::string& path) {
  return record.path.ends_with('/') ? path.starts_with(record.path) : path == record.path;
}

std::string name_in(const RouteRecord& record, const std::string& path) {
  return record.path.ends_with('/') ? path.substr(record.path.size()) : "";
}

bool is_operation_name(std::string_view name) {
  return !name.empty() && name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") == std::string_view::npos;
}

// HEAD is answered like GET, without the body.
bool same_method(std::string_view asked, std::string_view method) {
  return asked == method || (asked == "HEAD" && method == "GET");
}

std::optional<Decision> check_host(const RequestHead& head, const std::vector<std::string>& hosts) {
  const HeaderValue host = find_header(head, "host");
  if (host.value && !host.twice && std::find(hosts.begin(), hosts.end(), *host.value) != hosts.end())
    return std::nullopt;
  return refuse(421, "http.wrong-host", "this server does not answer to that name",
                "use the address that `halfsplit serve` printed");
}

std::optional<Decision> check_origin(const RequestHead& head) {
  const HeaderValue origin = find_header(head, "origin");
  const bool changes = head.method != "GET" && head.method != "HEAD";
  if (!origin.value && !changes) return std::nullopt;
  const std::string ours = "http://" + find_header(head, "host").value.value_or("");
  if (origin.value && !origin.twice && *origin.value == ours) return std::nullopt;
  if (!origin.value)
    return refuse(403, "http.no-origin", "a request that may change something says where it comes from",
                  "send the header Origin: " + ours);
  return refuse(403, "http.wrong-origin", "that request comes from another page");
}

// Another page may lead here by a link, and do nothing else.
std::optional<Decision> check_fetch_site(const RequestHead& head, Route route) {
  const HeaderValue site = find_header(head, "sec-fetch-site");
  if (!site.value) return std::nullopt;  // no browser, or an old one: Origin and the cookie stand
  const bool alone = !site.twice;
  if (alone && *site.value == "same-origin") return std::nullopt;
  const bool reads = head.method == "GET" || head.method == "HEAD";
  if (alone && reads && *site.value == "none") return std::nullopt;
  const bool leads = find_header(head, "sec-fetch-mode").value == "navigate" &&
                     find_header(head, "sec-fetch-dest").value == "document";
  const bool door = route == Route::kAsset || route == Route::kStart || route == Route::kPairForm;
  if (alone && reads && leads && door) return std::nullopt;
  return refuse(403, "http.other-site", "that request comes from another page");
}

std::optional<Decision> check_body(const RequestHead& head, const RouteRecord& record) {
  const HeaderValue length = find_header(head, "content-length");
  if (length.twice) return refuse(400, "http.bad-request", "Content-Length stands twice");
  const std::string text = length.value.value_or("0");
  const bool number = !text.empty() && text.find_first_not_of("0123456789") == std::string::npos;
  if (!number) return refuse(400, "http.bad-request", "Content-Length is not a number");
  if (text.size() > 12 || std::stoull(text) > record.most_body)
    return refuse(413, "http.too-large",
                  "the body may have " + std::to_string(record.most_body) + " bytes, not " + text.substr(0, 20));
  if (record.type.empty()) return std::nullopt;
  std::string type = find_header(head, "content-type").value.value_or("");
  type = type.substr(0, type.find_first_of("; \t"));
  const bool right = record.type.ends_with('/') ? type.starts_with(record.type) : type == record.type;
  if (right) return std::nullopt;
  return refuse(415, "http.wrong-type", "the body must be " + std::string(record.type) + ", not \"" + type + "\"");
}

std::optional<Decision> check_session(const RouteRecord& record, const Session* session) {
  if (record.who == Who::kAnybody) return std::nullopt;
  if (session == nullptr)
    return refuse(401, "http.no-session", "this browser has not been let in",
                  "open the address that `halfsplit serve` printed, or pair the phone by its QR code");
  if (record.who == Who::kHere && !session->here)
    return refuse(403, "http.only-here", "only the screen at the machine itself may do that");
  return std::nullopt;
}

// What the name must look like; nothing else ever becomes part of a path.
std::optional<Decision> check_name(Decision& decision) {
  if (decision.route == Route::kOperation && !is_operation_name(decision.name))
    return refuse(404, "http.nothing-here", "there is no such operation");
  if (decision.route == Route::kAsset && decision.name.empty()) decision.name = "index.html";
  if (decision.route == Route::kPhoto &&
      (decision.name.size() != 64 || decision.name.find_first_not_of("0123456789abcdef") != std::string::npos))
    return refuse(404, "http.nothing-here", "a photo is named by its SHA-256: 64 hex digits");
  if (decision.route == Route::kStart || decision.route == Route::kPairForm) {
    decision.name = decision.query.contains("secret") ? decision.query.at("secret") : "";
    if (!is_secret(decision.name))
      return refuse(403, "http.wrong-secret", "this address lets nobody in", "use the one that was printed last");
  }
  return std::nullopt;
}

}  // namespace

Decision Gate::look(const RequestHead& head, std::int64_t now_ms) {
  const std::optional<std::string> cookie = find_cookie(head, options_.cookie_name);
  const Session* session = cookie ? sessions_.find(*cookie) : nullptr;
  // A session of this machine is good on this machine only.
  if (session != nullptr && session->here && !head.peer_is_here) session = nullptr;
  const bool slow =
      session != nullptr ? !guests_.take(std::to_string(session->number), now_ms) : !strangers_.take(head.peer, now_ms);
  if (slow) return refuse(429, "http.too-often", "too many requests; wait a second");
  if (std::optional<Decision> no = check_host(head, options_.hosts)) return *std::move(no);
  if (std::optional<Decision> no = check_origin(head)) return *std::move(no);
  const std::optional<Target> target = read_target(head.target);
  if (!target) return refuse(400, "http.bad-path", "that path cannot be read");

  std::string allow;
  for (const RouteRecord& record : kRoutes) {
    if (!fits(record, target->path)) continue;
    if (record.route == Route::kAsset && !allow.empty()) break;  // the path is one of ours, its method is not
    if (!same_method(head.method, record.method)) {
      allow += (allow.empty() ? "" : ", ") + std::string(record.method);
      continue;
    }
    if (std::optional<Decision> no = check_fetch_site(head, record.route)) return *std::move(no);
    if (std::optional<Decision> no = check_session(record, session)) return *std::move(no);
    if (std::optional<Decision> no = check_body(head, record)) return *std::move(no);
    Decision decision;
    decision.route = record.route;
    decision.name = name_in(record, target->path);
    decision.query = target->query;
    decision.session = session == nullptr ? 0 : session->number;
    decision.here = session != nullptr && session->here;
    decision.most_body = record.most_body;
    if (std::optional<Decision> no = check_name(decision)) return *std::move(no);
    return decision;
  }
  Decision no = refuse(405, "http.wrong-method", head.method.substr(0, 16) + " is not done here", "");
  no.allow = allow;
  return no;
}

Decision Gate::decide(const RequestHead& head, std::int64_t now_ms) {
  Decision decision = look(head, now_ms);
  // What knocks only at the front: the start and pairing secrets are no use to a peer elsewhere.
  if (decision.route == Route::kStart && !head.peer_is_here)
    return refuse(403, "http.only-here", "this address is for the machine itself; pair a phone by its QR code");
  return decision;
}

}  // namespace halfsplit::http
