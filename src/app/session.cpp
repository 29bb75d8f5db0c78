// SPDX-License-Identifier: Apache-2.0
#include "app/session.h"

#include <algorithm>
#include <cmath>

#include "app/book_files.h"
#include "app/meter_file.h"
#include "app/recorded_bus.h"
#include "base/number.h"
#include "evidence/observable_text.h"
#include "formats/job_text.h"
#include "formats/meter_text.h"

namespace halfsplit::app {

namespace {

std::string folder_of(const std::string& path) {
  const std::size_t cut = path.rfind('/');
  return cut == std::string::npos ? "" : path.substr(0, cut + 1);
}

std::string loom_path(const Session& session) {
  if (session.job.loom.starts_with('/') || is_shelf_path(session.job.loom)) return session.job.loom;
  return folder_of(session.path) + session.job.loom;
}

base::Result<std::string> find_job(Context& context, const std::string& given) {
  if (!given.empty()) {
    const bool number = context.book != nullptr && job_number(given) > 0 && !context.files.exists(given);
    return number ? "book:" + std::to_string(job_number(given)) : given;
  }
  std::vector<std::string> jobs;
  for (const std::string& name : context.files.list("."))
    if (name.ends_with(".job.toml")) jobs.push_back(name);
  if (jobs.size() == 1) return jobs.front();
  if (jobs.empty())
    return base::make_error("job.none", "there is no job in this folder",
                            "open one: halfsplit open LOOM --complaint \"...\", or name one with --job FILE");
  std::string list;
  for (const std::string& name : jobs) list += (list.empty() ? "" : ", ") + name;
  return base::make_error("job.several", "there are several jobs in this folder", "name one with --job: " + list);
}

// What a loom says now that it did not say when the job was opened.
void note_changes(Session& session) {
  if (session.job.loom_print.empty() || session.job.loom_print == session.loom().print) return;
  std::map<std::string, std::string> before(session.job.drawn.begin(), session.job.drawn.end());
  std::string changed;
  std::size_t count = 0;
  const auto tell = [&](const std::string& what, const std::string& name) {
    if (++count <= 6) changed += (changed.empty() ? "" : ", ") + name + " " + what;
  };
  for (const auto& [name, print] : session.loom().drawn) {
    const auto found = before.find(name);
    if (found == before.end()) {
      tell("is new", name);
    } else {
      if (found->second != print) tell("says something else", name);
      before.erase(found);
    }
  }
  for (const auto& [name, print] : before) tell("is gone", name);
  if (count > 6) changed += " and " + std::to_string(count - 6) + " more";
  session.notes.push_back(base::make_warning(
      "job.loom-changed",
      "the loom has changed since this job was opened: " + (changed.empty() ? "only notes or order" : changed),
      "readings taken are weighed against the loom as it is now"));
}

void add_evidence(Session& session, int entry, const evidence::Observation& seen, const std::string& what,
                  const std::string& shows) {
  Evidence evidence;
  evidence.entry = entry;
  evidence.what = what;
  evidence.shows = shows;
  evidence.observation = seen;
  candidates::place_in(session.drawing(), session.loom().netlist, session.state, evidence.observation.what);
  evidence.repaired = session.repaired;
  std::sort(evidence.repaired.begin(), evidence.repaired.end());
  session.evidence.push_back(std::move(evidence));
}

void replay_readings(Session& session, const job::Entry& entry, const std::vector<evidence::Observation>& readings) {
  const LoadedLoom& loom = session.loom();
  for (const evidence::Observation& seen : readings)
    add_evidence(session, entry.number, seen, evidence::format_observable(loom.loom, loom.netlist, seen.what),
                 evidence::format_seen(loom.loom, seen.what, seen.seen));
}

void replay_list(Session& session, const job::Entry& entry, const CodeList& list) {
  replay_readings(session, entry, readings_of(session.drawing(), list));
  for (OtherCode& other : others_of(list, entry.number)) session.others.push_back(std::move(other));
}

void replay_entry(Session& session, const job::Entry& entry) {
  const LoadedLoom& loom = session.loom();
  const auto set_aside = [&](const std::vector<base::Diagnostic>& why) {
    session.notes.push_back(base::make_warning(
        "job.entry-set-aside",
        "entry " + std::to_string(entry.number) + " no longer fits the loom and is set aside: " + why.front().message,
        why.front().hint));
  };
  if (entry.verb == "did") {
    const base::Result<Deed> deed = parse_deed(loom, entry.what);
    if (!deed) return set_aside(deed.diagnostics());
    if (deed->kind == Deed::Kind::kRepair)
      session.repaired.push_back(deed->repair);
    else
      candidates::apply(session.state, deed->act, deed->kind == Deed::Kind::kMake);
    return;
  }
  if (entry.verb != "saw") return;
  if (is_code_list(entry.what)) {
    const base::Result<CodeList> list = parse_code_list(loom.loom, entry.what, entry.shows);
    return list ? replay_list(session, entry, *list) : set_aside(list.diagnostics());
  }
  if (is_unknown_code(loom.loom, entry.what)) {
    const base::Result<CodeList> one = other_code(entry.what, entry.shows);
    return one ? replay_list(session, entry, *one) : set_aside(one.diagnostics());
  }
  if (is_recorded_bus(entry.what)) {
    const base::Result<RecordedBus> recorded = parse_recorded_bus(loom, entry.what, entry.shows);
    return recorded ? replay_readings(session, entry, readings_of(*recorded)) : set_aside(recorded.diagnostics());
  }
  base::Result<evidence::Observable> what = evidence::parse_observable(loom.loom, loom.netlist, entry.what);
  if (!what) return set_aside(what.diagnostics());
  const base::Result<evidence::Seen> seen = evidence::parse_seen(*what, entry.shows);
  if (!seen) return set_aside(seen.diagnostics());
  add_evidence(session, entry.number, {*what, *seen}, entry.what, entry.shows);
}

}  // namespace

base::Result<std::shared_ptr<BeliefEngine>> Cache::engine(Context& context, const std::string& path,
                                                          const meters::MeterProfile& meter, const TaughtUntil& until) {
  base::Result<std::shared_ptr<LoadedLoom>> loom = load_loom(context, path, until);
  if (!loom) return loom.diagnostics();
  const std::string key =
      path + "#" + (*loom)->print + "#" + (*loom)->rates_print + "#" + formats::write_meter_text(meter);
  const auto found = engines_.find(key);
  if (engines_.size() > 16 && found == engines_.end()) engines_.clear();
  std::shared_ptr<BeliefEngine>& engine = engines_[key];
  if (!engine) engine = std::make_shared<BeliefEngine>(*loom, meter);
  engine->use_hands(context.workers);
  return engine;
}

std::shared_ptr<Cache> make_cache() { return std::make_shared<Cache>(); }

void replay(Session& session) {
  session.state = {};
  session.evidence.clear();
  session.others.clear();
  session.repaired.clear();
  session.notes.clear();
  note_changes(session);
  for (const job::Entry& entry : session.job.entries)
    if (!entry.struck) replay_entry(session, entry);
}

base::Result<job::Job> read_job(Context& context, const std::string& given, std::string& path, std::string* as_read) {
  const base::Result<std::string> found = find_job(context, given);
  if (!found) return found.diagnostics();
  path = *found;
  const base::Result<std::string> text = context.files.read(path, kMostBytes);
  if (!text) return text.diagnostics();
  if (as_read != nullptr) *as_read = *text;
  return formats::read_job_text(path, *text);
}

namespace {

// A closed job keeps the figures it was closed with, whatever it and later ones taught.
TaughtUntil taught_until(const Session& session) {
  if (session.job.closed_at.empty() || !session.path.starts_with("book:")) return {};
  return {job_number(session.path), session.job.closed_at};
}

}  // namespace

base::Result<Session> open_session(Context& context, const std::string& given) {
  Session session;
  base::Result<job::Job> job = read_job(context, given, session.path, &session.as_read);
  if (!job) return job.diagnostics();
  session.job = std::move(job).value();
  const base::Result<std::shared_ptr<BeliefEngine>> engine =
      context.cache.engine(context, loom_path(session), or_common(session.job.meter), taught_until(session));
  if (!engine) return engine.diagnostics();
  session.engine = *engine;
  replay(session);
  return session;
}

base::Result<base::Done> save(Context& context, Session& session) {
  base::Result<std::string> text = formats::write_job_text(session.job);
  if (!text) return text.diagnostics();
  base::Result<base::Done> done = session.as_read.empty() ? context.files.write(session.path, *text)
                                                          : context.files.replace(session.path, session.as_read, *text);
  if (done) session.as_read = std::move(text).value();
  return done;
}

int add_entry(Context& context, Session& session, const std::string& verb, const std::string& what,
              const std::string& shows, double minutes) {
  int number = 1;
  for (const job::Entry& entry : session.job.entries) number = std::max(number, entry.number + 1);
  job::Entry entry;
  entry.number = number;
  entry.at = iso_time(context.clock.now_s());
  entry.verb = verb;
  entry.what = what;
  entry.shows = shows;
  entry.minutes = minutes;
  session.job.entries.push_back(std::move(entry));
  replay(session);
  return number;
}

candidates::Roll roll_of(const job::Kit& kit) {
  candidates::Roll roll;
  for (const std::string& text : kit.resistors) {
    const base::Result<base::Quantity> ohm = base::parse_quantity(text);
    if (ohm && !ohm->over_range && ohm->value > 0.0) roll.resistors_ohm.push_back(ohm->value);
  }
  roll.meter = kit.meter;
  roll.test_lamp = kit.test_lamp;
  roll.clamp = kit.clamp;
  roll.long_lead = kit.long_lead;
  roll.reader = kit.reader;
  roll.heat_gun = kit.heat_gun;
  roll.cold_spray = kit.cold_spray;
  roll.scope = kit.scope;
  return roll;
}

namespace {

// Something that comes and goes may show another figure in another moment; and a reading that contradicts the rest may
// have been a slip.
std::vector<evidence::Observation> worth_a_second_look(const Session& session, const Belief& belief) {
  constexpr double kWorth = 0.02;  // that something comes and goes
  double loose = 0.0;
  const std::vector<fault::Fault>& faults = session.loom().universe.faults;
  for (std::size_t i = 0; i < faults.size(); ++i)
    if (faults[i].kind == fault::FaultKind::kIntermittent) loose += belief.fault_weight[i];
  std::vector<evidence::Observation> again;
  for (std::size_t i = 0; i < session.evidence.size(); ++i) {
    const evidence::Observation& read = session.evidence[i].observation;
    const bool doubtful =
        std::any_of(belief.explanations.worth_repeating.begin(), belief.explanations.worth_repeating.end(),
                    [&](const infer::Doubt& doubt) { return doubt.column == i; });
    if (session.evidence[i].repaired.size() != session.repaired.size() || (loose < kWorth && !doubtful)) continue;
    if (!evidence::asks_the_circuit(read.what.kind) || evidence::is_recorded(read.what.kind)) continue;
    std::erase_if(again, [&](const evidence::Observation& other) { return other.what == read.what; });
    again.push_back(read);
  }
  return again;
}

}  // namespace

candidates::GenerateInput generate_input(Session& session, const candidates::Roll& roll, const Belief& belief) {
  const LoadedLoom& loom = session.loom();
  candidates::GenerateInput input{
      loom.loom, loom.netlist, loom.universe, roll, session.state, belief.fault_weight, {}, {}, {}, {}};
  input.again = worth_a_second_look(session, belief);
  for (const Evidence& e : session.evidence) {
    if (e.repaired.size() == session.repaired.size()) input.already.push_back(e.observation.what);
    const evidence::Kind kind = e.observation.what.kind;
    if (kind != evidence::Kind::kCode && kind != evidence::Kind::kLive && kind != evidence::Kind::kLook) continue;
    evidence::Observable symptom = e.observation.what;
    symptom.configuration = {};
    if (std::find(input.symptoms.begin(), input.symptoms.end(), symptom) == input.symptoms.end())
      input.symptoms.push_back(symptom);
  }
  input.live_v = session.engine->meter().live_v;
  predict::Campaign& campaign = session.engine->campaign();
  input.healthy_volts = [&campaign](const circuit::Configuration& c, circuit::PointId red, circuit::PointId black) {
    return campaign.healthy_volts(c, red, black);
  };
  input.fitted_load = [&campaign](const circuit::Configuration& c, const circuit::Fitted& fitted) {
    const predict::Campaign::Across across = campaign.healthy_across(c, fitted);
    const double amperes = std::abs(across.volts) / (fitted.ohm + circuit::kLeadOhm);
    return candidates::FittedLoad{amperes, amperes * amperes * fitted.ohm, across.gone};
  };
  return input;
}

// Days from civil (Hinnant, "chrono-compatible low-level date algorithms"), turned round; from memory.
std::string iso_time(std::int64_t seconds) {
  const std::int64_t day_seconds = ((seconds % 86400) + 86400) % 86400;
  const std::int64_t z = (seconds - day_seconds) / 86400 + 719468;
  const std::int64_t era = (z >= 0 ? z : z - 146096) / 146097;
  const std::int64_t doe = z - era * 146097;
  const std::int64_t yoe = (doe - doe / 1460 + doe / 36524 - doe / 146096) / 365;
  const std::int64_t doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
  const std::int64_t mp = (5 * doy + 2) / 153;
  const std::int64_t day = doy - (153 * mp + 2) / 5 + 1;
  const std::int64_t month = mp < 10 ? mp + 3 : mp - 9;
  const std::int64_t year = yoe + era * 400 + (month <= 2 ? 1 : 0);
  const auto two = [](std::int64_t n) { return (n < 10 ? "0" : "") + std::to_string(n); };
  return std::to_string(year) + "-" + two(month) + "-" + two(day) + "T" + two(day_seconds / 3600) + ":" +
         two(day_seconds / 60 % 60) + ":" + two(day_seconds % 60) + "Z";
}

}  // namespace halfsplit::app
