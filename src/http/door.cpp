// SPDX-License-Identifier: Apache-2.0
#include "http/door.h"

#include <algorithm>

#include "app/book_files.h"
#include "http/qr.h"

namespace halfsplit::http {

namespace {

constexpr std::size_t kMostDeviceName = 40;  // bytes

// A phone's name as its user typed it: no controls, not too long, cut between characters.
std::string tidy_name(std::string_view given) {
  std::string name;
  for (const char c : given)
    if (static_cast<unsigned char>(c) >= 0x20 && c != 0x7F) name += c;
  if (name.size() > kMostDeviceName) {
    std::size_t cut = kMostDeviceName;
    while (cut > 0 && (static_cast<unsigned char>(name[cut]) & 0xC0U) == 0x80U) --cut;
    name.resize(cut);
  }
  return name.empty() ? "phone" : name;
}

bool wants_words(const Decision& decision, const RequestHead& head) {
  const std::string accept = find_header(head, "accept").value.value_or("");
  return decision.status != 421 && accept.find("text/html") != std::string::npos;
}

Answer words_of(const Decision& decision) {
  return word_answer(decision.status, "Not let in",
                     "<p>" + escape_html(decision.message) + ".</p>\n<p>" + escape_html(decision.hint) + "</p>\n");
}

std::string operation_of(const Decision& decision) {
  if (decision.route == Route::kOperations) return "operations";
  return decision.route == Route::kAddPhoto || decision.route == Route::kAddRecording ? "jobs" : decision.name;
}

// A photo or a recording comes as its bytes, and goes on as a file of `jobs photo` or `jobs recording`.
base::Result<app::Arguments> arguments_of(const Decision& decision, const std::string& body) {
  if (decision.route == Route::kOperation) return app::read_arguments(body);
  app::Arguments arguments;
  if (decision.route == Route::kOperations) return arguments;
  const bool recording = decision.route == Route::kAddRecording;
  const std::string word = recording ? "recording" : "photo";
  arguments.add("do", word);
  const auto said = [&](const char* key) {
    return decision.query.contains(key) ? decision.query.at(key) : std::string();
  };
  arguments.add("what", said("job") + " " + std::string(recording ? kUploadedRecording : kUploadPath));
  arguments.add("name", said("name").empty() ? word : said("name"));
  if (!said("entry").empty()) arguments.add("entry", said("entry"));
  return arguments;
}

Answer moved(const std::string& cookie) {
  return {303, "text/plain; charset=utf-8", "in\n", {}, {{"Location", "/"}, {"Set-Cookie", cookie}}};
}

Answer bad_pairing(PairOutcome outcome) {
  switch (outcome) {
    case PairOutcome::kLocked:
      return word_answer(429, "Wait a minute", "<p>Too many wrong codes came from here. Wait a minute.</p>\n");
    case PairOutcome::kFull:
      return word_answer(403, "Too many phones", "<p>Let one of the paired phones go first, on the laptop.</p>\n");
    default:
      return word_answer(403, "This code is used up",
                         "<p>A code is good for one phone and five minutes. Make a new one on the laptop.</p>\n");
  }
}

}  // namespace

Door::Door(Setup setup, Log& log)
    : setup_(std::move(setup)), log_(log), gate_(setup_.gate, setup_.make_secret), runs_(setup_.runs, events_) {}

Decision Door::decide(const RequestHead& head, std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  return gate_.decide(head, now_ms);
}

Answer Door::refusal(const Decision& decision, const RequestHead& head) {
  Answer answer = wants_words(decision, head)
                      ? words_of(decision)
                      : error_answer(decision.status, decision.code, decision.message, decision.hint);
  if (!decision.allow.empty()) answer.headers.emplace_back("Allow", decision.allow);
  if (decision.status == 429) answer.headers.emplace_back("Retry-After", "1");
  return answer;
}

Answer Door::answer(const Decision& decision, const RequestHead& head, const std::string& body, std::int64_t now_ms) {
  switch (decision.route) {
    case Route::kAsset:
      return asset(decision, head);
    case Route::kStart:
      return start(decision, head, now_ms);
    case Route::kPairForm:
      return pair_form(decision);
    case Route::kPhoto:
      return photo(decision);
    case Route::kPair:
      return pair(head, body, now_ms);
    case Route::kCancel:
      return cancel(body);
    case Route::kSession:
      return who(decision);
    case Route::kDevices:
      return devices(now_ms);
    case Route::kRevoke:
      return revoke(body);
    case Route::kMakePairing:
      return new_pairing(now_ms);
    default:
      return error_answer(404, "http.nothing-here", "there is nothing at this address", "");
  }
}

std::shared_ptr<Spool> Door::make_spool() const { return Spool::make(setup_.runs.book_folder); }

void Door::run(const Decision& decision, const Body& body, const base::CancelToken& cancel,
               std::function<void(Answer)> done) {
  base::Result<app::Arguments> arguments = arguments_of(decision, body.bytes);
  if (!arguments) {
    const base::Diagnostic& why = arguments.diagnostics().front();
    done(error_answer(400, why.code, why.message, why.hint));
    return;
  }
  const std::string name = operation_of(decision);
  if (app::find_operation(name) == nullptr) {
    done(error_answer(404, "args.unknown-operation", "there is no \"" + name + "\"", "GET /api/operations lists them"));
    return;
  }
  const auto finish = [done](std::string bytes) { done({200, "application/json", std::move(bytes), {}, {}}); };
  std::string upload = decision.route == Route::kAddPhoto ? body.bytes : std::string();
  if (runs_.submit({name, *std::move(arguments), cancel, finish, std::move(upload), body.spool})) return;
  done(error_answer(503, "http.busy", "too much is being worked out already", "wait, or cancel something"));
}

Answer Door::asset(const Decision& decision, const RequestHead& head) const {
  if (decision.name == "door.css") return word_style();
  for (const PageFile& file : setup_.page) {
    if (file.name != decision.name) continue;
    Answer answer{200, std::string(media_type(file.name)), "", file.bytes, {}};
    answer.headers = {{"ETag", std::string(file.etag)}, {"Content-Encoding", "gzip"}};
    if (find_header(head, "if-none-match").value.value_or("") == file.etag) {
      answer.status = 304;
      answer.lasting = {};
    }
    return answer;
  }
  if (decision.name != "index.html" || !setup_.page.empty())
    return error_answer(404, "http.nothing-here", "there is nothing at this address", "");
  return word_answer(200, "Halfsplit",
                     "<p>This build has no page: it was built without Node.js. The program answers "
                     "<code>POST /api/OPERATION</code>, and the command line does everything.</p>\n"
                     "<p>To build it with the page, install Node.js 18 or newer and build again.</p>\n");
}

// By its SHA-256, so it never changes.
Answer Door::photo(const Decision& decision) const {
  app::BookFiles files(setup_.runs.disk, setup_.runs.clock, setup_.runs.book_folder);
  for (const std::string_view type : {"jpg", "png", "webp"}) {
    const std::string path = "photo:" + decision.name + "." + std::string(type);
    if (!files.exists(path)) continue;
    base::Result<std::string> bytes = files.read(path, kMostPhotoBody);
    if (!bytes) break;
    return {200,
            std::string(media_type(path)),
            *std::move(bytes),
            {},
            {{"Cache-Control", "private, max-age=31536000, immutable"}}};
  }
  return error_answer(404, "http.nothing-here", "the book has no such photo", "");
}

std::string Door::cookie_header(const std::string& value) const {
  return setup_.gate.cookie_name + "=" + value + "; Path=/; HttpOnly; SameSite=Strict; Max-Age=604800";
}

// Moves on by itself, from this site: a cookie that is SameSite=Strict is not sent along a way that began elsewhere.
Answer Door::start(const Decision& decision, const RequestHead& head, std::int64_t now_ms) {
  std::optional<std::string> cookie;
  if (head.method == "GET") {
    const std::lock_guard lock(mutex_);
    cookie = gate_.sessions().use_start(decision.name, now_ms);
  }
  if (!cookie) {
    log_.refused(head.method, "/start", head.peer, "http.wrong-secret");
    return word_answer(403, "This address is used up",
                       "<p>It lets a browser in once. Press Enter where <code>halfsplit serve</code> runs: it prints "
                       "a new one.</p>\n<p><a href=\"/\">Go on</a>, if this browser is in already.</p>\n");
  }
  Answer answer = word_answer(200, "Halfsplit", "<p><a href=\"/\">Go on</a></p>\n");
  answer.headers = {{"Set-Cookie", cookie_header(*cookie)}, {"Refresh", "0; url=/"}};
  return answer;
}

// A form sends Origin only where the page may name itself to its own site (Fetch Standard, "serialize a request
// origin"), so this one page says same-origin where the others say no-referrer.
Answer Door::pair_form(const Decision& decision) {
  Answer answer =
      word_answer(200, "Pair this phone",
                  "<form method=\"post\" action=\"/pair\">\n<input type=\"hidden\" name=\"secret\" value=\"" +
                      escape_html(decision.name) +
                      "\">\n<label>Name of this phone\n<input name=\"name\" value=\"phone\" maxlength=\"40\" "
                      "autocomplete=\"off\"></label>\n<button>Pair</button>\n</form>\n"
                      "<p>It then shows and changes the jobs on the laptop, until the laptop lets it go or is "
                      "stopped.</p>\n");
  answer.headers = {{"Referrer-Policy", "same-origin"}};
  return answer;
}

Answer Door::pair(const RequestHead& head, const std::string& body, std::int64_t now_ms) {
  const std::optional<Query> form = read_form(body);
  const auto said = [&](const char* key) { return form && form->contains(key) ? form->at(key) : std::string(); };
  const std::string name = tidy_name(said("name"));
  Paired paired;
  {
    const std::lock_guard lock(mutex_);
    paired = gate_.sessions().pair(said("secret"), name, head.peer, now_ms);
  }
  if (paired.outcome != PairOutcome::kPaired) {
    log_.refused("POST", "/pair", head.peer, "http.wrong-secret");
    return bad_pairing(paired.outcome);
  }
  log_.line("paired phone " + std::to_string(paired.number) + " (" + printable(name, kMostDeviceName) + ") at " +
            head.peer);
  events_.tell("", "devices", "{}");
  return moved(cookie_header(paired.cookie));
}

Answer Door::cancel(const std::string& body) {
  const base::Result<app::Arguments> said = app::read_arguments(body);
  if (!said) return error_answer(400, "args.bad-json", said.diagnostics().front().message, "");
  return json_answer("{\"cancelled\":" + std::to_string(runs_.cancel(said->get("job"), said->get("operation"))) + "}");
}

Answer Door::who(const Decision& decision) {
  return json_answer(std::string("{\"number\":") + std::to_string(decision.session) +
                     ",\"here\":" + (decision.here ? "true" : "false") +
                     ",\"lan\":" + (setup_.lan_host.empty() ? "false" : "true") + "}");
}

Answer Door::devices(std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  std::string list;
  for (const Session& session : gate_.sessions().all()) {
    if (session.here) continue;
    list += (list.empty() ? "" : ",") + std::string("{\"device\":") + std::to_string(session.number) +
            ",\"name\":" + quote_json(session.name) + ",\"address\":" + quote_json(session.address) +
            ",\"minutes\":" + std::to_string((now_ms - session.since_ms) / 60000) + "}";
  }
  return json_answer(std::string("{\"lan\":") + (setup_.lan_host.empty() ? "false" : "true") + ",\"devices\":[" + list +
                     "]}");
}

Answer Door::revoke(const std::string& body) {
  const base::Result<app::Arguments> said = app::read_arguments(body);
  if (!said) return error_answer(400, "args.bad-json", said.diagnostics().front().message, "");
  const std::string text = said->get("device");
  const bool number = !text.empty() && text.size() < 9 && text.find_first_not_of("0123456789") == std::string::npos;
  const int device = number ? std::stoi(text) : 0;
  {
    const std::lock_guard lock(mutex_);
    if (!gate_.sessions().revoke(device))
      return error_answer(404, "http.no-device", "there is no paired phone \"" + text + "\"",
                          "GET /api/devices lists them");
  }
  log_.line("let go of phone " + std::to_string(device));
  events_.end_session(device);
  events_.tell("", "devices", "{}");
  return json_answer("{\"device\":" + std::to_string(device) + "}");
}

std::string Door::make_pairing_address(std::int64_t now_ms) {
  if (setup_.lan_host.empty()) return "";
  const std::lock_guard lock(mutex_);
  return "http://" + setup_.lan_host + "/pair?secret=" + gate_.sessions().make_pairing(now_ms);
}

Answer Door::new_pairing(std::int64_t now_ms) {
  const std::string address = make_pairing_address(now_ms);
  if (address.empty())
    return error_answer(409, "http.no-lan", "this server serves this machine alone", "start it with --lan");
  return json_answer("{\"address\":" + quote_json(address) + ",\"svg\":" + quote_json(qr_svg(address)) +
                     ",\"minutes\":5}");
}

std::string Door::make_start_path() {
  const std::lock_guard lock(mutex_);
  return "/start?secret=" + gate_.sessions().make_start();
}

void Door::stop() {
  events_.end_all();
  runs_.stop();
}

}  // namespace halfsplit::http
