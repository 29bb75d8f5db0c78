// SPDX-License-Identifier: Apache-2.0
// Who may ask what: from the head of a request, the sessions and the time to a decision, before a byte of the body is
// taken. No I/O. The order: rates, Host (a name we serve on, against DNS rebinding), Origin and Sec-Fetch-Site
// (no other page), the route, its method, its session, the type and size of its body.
// Sources: RFC 9110 and 9112 (HTTP), the Fetch Standard (Origin), W3C Fetch Metadata (Sec-Fetch-*), RFC 6265bis
// (SameSite; it knows no ports, therefore Origin and Sec-Fetch-Site decide).
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "http/rates.h"
#include "http/request.h"
#include "http/sessions.h"

namespace halfsplit::http {

enum class Route {
  kRefused,
  kAsset,         // name: a file of the page, "index.html" for "/"
  kStart,         // name: the secret; lets this machine's browser in
  kPairForm,      // name: the secret; asks the phone's user
  kPair,          // body: secret and name
  kOperation,     // name: the operation; body: its arguments
  kOperations,    // the table
  kEvents,        // query: job
  kPhoto,         // name: its SHA-256
  kAddPhoto,      // query: job; body: the picture
  kAddRecording,  // query: job, name; body: the recording, which goes to disk as it comes
  kCancel,        // body: job, operation
  kSession,       // who am I
  kDevices,       // paired phones
  kRevoke,        // body: device
  kMakePairing,   // a new secret, as an address and a QR code
};

struct Decision {
  Route route = Route::kRefused;
  int status = 200;
  std::string code, message, hint;  // of a refusal
  std::string allow;                // of a wrong method: the right ones
  std::string name;
  Query query;
  int session = 0;            // number of the session; 0: none
  bool here = false;          // a session of this machine
  std::size_t most_body = 0;  // bytes
};

class Gate {
 public:
  struct Options {
    std::vector<std::string> hosts;  // what may stand in Host: "127.0.0.1:8471", ...
    std::string cookie_name;
  };

  Gate(Options options, SecretMaker make) : options_(std::move(options)), sessions_(std::move(make)) {}

  [[nodiscard]] Decision decide(const RequestHead& head, std::int64_t now_ms);
  [[nodiscard]] Sessions& sessions() { return sessions_; }
  [[nodiscard]] const Options& options() const { return options_; }

 private:
  [[nodiscard]] Decision look(const RequestHead& head, std::int64_t now_ms);

  Options options_;
  Sessions sessions_;
  Rates strangers_{60.0, 20.0};  // requests without a session, by address
  Rates guests_{300.0, 100.0};   // with one, by session
};

constexpr std::size_t kMostJsonBody = std::size_t{1} << 20U;
constexpr std::size_t kMostPhotoBody = std::size_t{16} << 20U;
constexpr std::size_t kMostRecordingBody = std::size_t{64} << 20U;
constexpr std::size_t kMostFormBody = 1024;

}  // namespace halfsplit::http
