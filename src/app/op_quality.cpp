// SPDX-License-Identifier: Apache-2.0
// `bench --quality`: the program's choice of what to do next against other rules, in text, JSON and Markdown.
#include <algorithm>

#include "app/ops.h"
#include "app/quality.h"
#include "app/words.h"
#include "base/number.h"

namespace halfsplit::app {

namespace {

constexpr double kGoalMended = 0.98;
constexpr double kGoalWrongParts = 0.01;
constexpr double kGoalOfHalfSplit = 0.7;
constexpr std::size_t kWeakest = 3;

using TableRow = std::vector<std::string>;

std::string figure(double value) { return base::format_significant(value, 3); }
std::string share_text(double value) { return figure(100.0 * value) + " %"; }
double ratio(double part, double whole) { return whole > 0.0 ? part / whole : 0.0; }

// A kind with very few vehicles says nothing: at least five, or all there are of a short run.
std::size_t least_vehicles(const Quality& q) { return q.starts.vehicles >= 100 ? 5 : 1; }

Json played_json(const Played& p) {
  return {{"vehicles", p.vehicles},
          {"mended", p.mended},
          {"first_repair_right", p.first_right},
          {"gave_up", p.gave_up},
          {"wrong_parts", p.wrong_parts},
          {"wrong_parts_per_vehicle", p.wrong_per_vehicle()},
          {"tests_per_vehicle", p.per_vehicle(static_cast<double>(p.tests))},
          {"mean_minutes", p.mean_minutes()},
          {"median_minutes", p.median_minutes()},
          {"mean_minutes_with_parts", p.mean_paid()},
          {"spent",
           {{"setups", p.per_vehicle(p.spent.setups)},
            {"readings", p.per_vehicle(p.spent.readings)},
            {"repairs", p.per_vehicle(p.spent.repairs)},
            {"wrong_repairs", p.per_vehicle(p.spent.wrong_repairs)},
            {"proofs", p.per_vehicle(p.spent.proofs)},
            {"leaving", p.per_vehicle(p.spent.leaving)},
            {"not_mended", p.per_vehicle(p.unmended_minutes)}}}};
}

Json rules_json(const Quality& q) {
  Json list = Json::array();
  for (std::size_t r = 0; r < kRules; ++r) {
    if (q.by_rule[r].vehicles == 0) continue;
    Json row = {{"rule", rules()[r].name}};
    row.update(played_json(q.by_rule[r]));
    row["program_takes"] = ratio(q.by_rule[0].mean_minutes(), q.by_rule[r].mean_minutes());
    row["program_takes_with_parts"] = ratio(q.by_rule[0].mean_paid(), q.by_rule[r].mean_paid());
    list.push_back(std::move(row));
  }
  return list;
}

Json starts_json(const Starts& s) {
  const double n = static_cast<double>(std::max<std::size_t>(s.vehicles, 1));
  return {{"vehicles", s.vehicles},
          {"exact", s.exact},
          {"mean_expected_minutes", s.expected / n},
          {"mean_bound_minutes", s.bound / n},
          {"mean_minutes_with_parts", s.took / n},
          {"mean_gap", s.gap / n}};
}

Json jobs_json(const std::vector<PlayedJob>& jobs) {
  Json list = Json::array();
  for (const PlayedJob& job : jobs)
    list.push_back({{"seed", job.seed},
                    {"fault", job.score.fault},
                    {"kind", job.score.kind},
                    {"mended", job.score.right},
                    {"gave_up", job.score.gave_up},
                    {"first_repair_right", job.score.first_right},
                    {"wrong_parts", job.score.wrong_parts},
                    {"tests", job.score.tests},
                    {"minutes", job.score.minutes},
                    {"minutes_by_rule", job.minutes_by_rule}});
  return list;
}

Json quality_json(const Quality& q, const std::vector<std::pair<std::string, Quality>>& looms) {
  Json kinds = Json::array();
  for (const auto& [kind, played] : q.kinds) {
    Json row = {{"kind", kind}};
    row.update(played_json(played));
    kinds.push_back(std::move(row));
  }
  Json by_loom = Json::array();
  for (const auto& [name, own] : looms)
    by_loom.push_back({{"loom", name},
                       {"rules", rules_json(own)},
                       {"starts", starts_json(own.starts)},
                       {"jobs", jobs_json(own.jobs)}});
  return {{"vehicles", q.starts.vehicles},
          {"rules", rules_json(q)},
          {"starts", starts_json(q.starts)},
          {"kinds", kinds},
          {"weakest", weakest_kinds(q, least_vehicles(q), kWeakest)},
          {"looms", by_loom}};
}

std::vector<TableRow> rule_rows(const Quality& q) {
  std::vector<TableRow> rows{{"rule", "mended", "first repair right", "wrong parts per vehicle", "tests", "mean min",
                              "median", "with parts paid", "program takes"}};
  for (std::size_t r = 0; r < kRules; ++r) {
    const Played& p = q.by_rule[r];
    if (p.vehicles == 0) continue;
    rows.push_back({std::string(rules()[r].name), share_text(p.share_mended()),
                    share_text(p.per_vehicle(static_cast<double>(p.first_right))), figure(p.wrong_per_vehicle()),
                    figure(p.per_vehicle(static_cast<double>(p.tests))), figure(p.mean_minutes()),
                    figure(p.median_minutes()), figure(p.mean_paid()),
                    r == 0 ? "" : figure(ratio(q.by_rule[0].mean_minutes(), p.mean_minutes())) + "x"});
  }
  return rows;
}

// Where the mean minutes go.
std::vector<TableRow> spent_rows(const Quality& q) {
  std::vector<TableRow> rows{
      {"minutes on", "setups", "readings", "right repairs", "wrong repairs", "proofs", "putting back", "not mended"}};
  for (std::size_t r = 0; r < kRules; ++r) {
    const Played& p = q.by_rule[r];
    if (p.vehicles == 0) continue;
    TableRow row{std::string(rules()[r].name)};
    for (const double sum : {p.spent.setups, p.spent.readings, p.spent.repairs, p.spent.wrong_repairs, p.spent.proofs,
                             p.spent.leaving, p.unmended_minutes})
      row.push_back(figure(p.per_vehicle(sum)));
    rows.push_back(std::move(row));
  }
  return rows;
}

std::vector<TableRow> kind_rows(const Quality& q) {
  std::vector<TableRow> rows{
      {"fault kind", "vehicles", "mended", "first repair right", "wrong parts per vehicle", "tests", "mean min"}};
  for (const auto& [kind, p] : q.kinds)
    rows.push_back({kind, std::to_string(p.vehicles), share_text(p.share_mended()),
                    share_text(p.per_vehicle(static_cast<double>(p.first_right))), figure(p.wrong_per_vehicle()),
                    figure(p.per_vehicle(static_cast<double>(p.tests))), figure(p.mean_minutes())});
  return rows;
}

// Beside the rules that were played; the program alone has none beside it.
std::vector<TableRow> loom_rows(const std::vector<std::pair<std::string, Quality>>& looms) {
  std::vector<std::pair<std::size_t, std::string>> beside;
  for (const auto& [r, of] : {std::pair{kHalfSplit, "of half-split"}, std::pair{kByLikelihood, "of it by likelihood"},
                              std::pair{kCodesFirst, "of codes first"}, std::pair{kMostBits, "of most bits"}})
    if (std::any_of(looms.begin(), looms.end(),
                    [r = r](const auto& loom) { return loom.second.by_rule[r].vehicles > 0; }))
      beside.emplace_back(r, of);
  std::vector<TableRow> rows{{"loom", "vehicles", "mended", "wrong parts per vehicle", "mean min"}};
  for (const auto& [r, of] : beside) rows.front().push_back(of);
  for (const auto& [name, q] : looms) {
    const Played& p = q.by_rule[0];
    TableRow row{name, std::to_string(p.vehicles), share_text(p.share_mended()), figure(p.wrong_per_vehicle()),
                 figure(p.mean_minutes())};
    for (const auto& [r, of] : beside)
      row.push_back(q.by_rule[r].vehicles == 0 ? ""
                                               : figure(ratio(p.mean_minutes(), q.by_rule[r].mean_minutes())) + "x");
    rows.push_back(std::move(row));
  }
  return rows;
}

std::string verdict(bool reached) { return reached ? "reached" : "not reached"; }

std::vector<std::string> goal_lines(const Quality& q) {
  const Played& p = q.by_rule[0];
  const auto times = [&](std::size_t rule) { return ratio(p.mean_minutes(), q.by_rule[rule].mean_minutes()); };
  const double of_half = times(kHalfSplit);
  std::vector<std::string> lines{"mended at the end " + share_text(p.share_mended()) + ", goal at least " +
                                     share_text(kGoalMended) + ": " + verdict(p.share_mended() >= kGoalMended),
                                 "wrong parts per vehicle " + figure(p.wrong_per_vehicle()) + ", goal at most " +
                                     figure(kGoalWrongParts) + ": " +
                                     verdict(p.wrong_per_vehicle() <= kGoalWrongParts)};
  if (q.by_rule[kHalfSplit].vehicles > 0)
    lines.push_back("minutes " + figure(of_half) + " times those of half-split by position, goal at most " +
                    figure(kGoalOfHalfSplit) + ": " + verdict(of_half <= kGoalOfHalfSplit) + "; " +
                    figure(times(kByLikelihood)) + " times those of half-split by likelihood");
  return lines;
}

// Those not mended and those given a wrong part, to be played again one by one.
std::string failed_lines(const std::vector<std::pair<std::string, Quality>>& looms, const std::string& bullet) {
  constexpr std::size_t kMostTold = 30;
  std::string text;
  std::size_t told = 0;
  for (const auto& [name, own] : looms)
    for (const PlayedJob& job : own.jobs) {
      if ((job.score.right && job.score.wrong_parts == 0) || ++told > kMostTold) continue;
      text += bullet + name + " --seed " + std::to_string(job.seed) + ": " + job.score.fault +
              (job.score.right     ? ", mended with a wrong part"
               : job.score.gave_up ? ", given up"
                                   : ", not mended") +
              "\n";
    }
  if (told > kMostTold) text += bullet + std::to_string(told - kMostTold) + " more\n";
  return text.empty() ? "" : "To be played again with `rehearse`:\n\n" + text + "\n";
}

std::string starts_line(const Starts& s) {
  const double n = static_cast<double>(std::max<std::size_t>(s.vehicles, 1));
  return "At the start, parts paid: the plan found expected " + figure(s.expected / n) + " min, no plan is below " +
         figure(s.bound / n) + " min (gap " + share_text(s.gap / n) + " on average; proved the best possible in " +
         share_text(static_cast<double>(s.exact) / n) + " of the starts); it took " + figure(s.took / n) + " min.";
}

std::string weakest_line(const Quality& q) {
  std::string text;
  for (const std::string& kind : weakest_kinds(q, least_vehicles(q), kWeakest))
    text += (text.empty() ? "Weakest kinds: " : ", ") + kind;
  return text.empty() ? "" : text + ".";
}

std::string unmended_line() {
  return "Minutes count " + figure(kUnmendedMinutes) + " more for a vehicle that is not mended at the end.";
}

std::string plain(const std::vector<TableRow>& rows) {
  std::vector<std::size_t> widths(rows.front().size(), 0);
  for (const TableRow& row : rows)
    for (std::size_t c = 0; c < row.size(); ++c) widths[c] = std::max(widths[c], display_width(row[c]) + 2);
  std::string text;
  for (const TableRow& row : rows) {
    std::string line;
    for (std::size_t c = 0; c < row.size(); ++c) line += padded(row[c], widths[c]);
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + "\n";
  }
  return text;
}

std::string markdown(const std::vector<TableRow>& rows) {
  std::string text;
  const auto line = [&](const TableRow& row) {
    text += "|";
    for (const std::string& cell : row) text += (cell.empty() ? " |" : " " + cell + " |");
    text += "\n";
  };
  line(rows.front());
  line(TableRow(rows.front().size(), "---"));
  for (std::size_t r = 1; r < rows.size(); ++r) line(rows[r]);
  return text;
}

using TableText = std::string (*)(const std::vector<TableRow>&);

std::string report_of(const Quality& q, const std::vector<std::pair<std::string, Quality>>& looms, TableText table,
                      const std::string& bullet) {
  if (q.starts.vehicles == 0) return "No vehicle was played to the end.\n";
  std::string text = std::to_string(q.starts.vehicles) + " vehicles, each played by " +
                     (q.by_rule[kHalfSplit].vehicles > 0 ? "every rule. " : "the program alone. ") + unmended_line() +
                     "\n\n" + table(rule_rows(q)) + "\n" + table(spent_rows(q)) + "\n";
  for (const std::string& line : goal_lines(q)) text += bullet + line + "\n";
  text += "\n" + wrap(starts_line(q.starts), 0) + "\n\n" + table(loom_rows(looms)) + "\n" + table(kind_rows(q)) + "\n" +
          failed_lines(looms, bullet) + weakest_line(q) + "\n";
  return text;
}

base::Result<base::Done> write_quality(Context& context, const std::string& folder, const std::string& table,
                                       Reply& reply) {
  const std::string base = folder + (folder.ends_with('/') ? "" : "/") + "quality";
  const std::pair<std::string, std::string> files[] = {{base + ".md", table},
                                                       {base + ".json", reply.result.dump(2) + "\n"}};
  for (const auto& [path, text] : files) {
    const base::Result<base::Done> written = context.files.write(path, text);
    if (!written) return written.diagnostics();
    reply.text += "wrote " + path + "\n";
  }
  return base::Done{};
}

// "examples/gritter/gritter.loom.toml" as "gritter".
std::string loom_name(const std::string& path) {
  const std::size_t slash = path.find_last_of('/');
  const std::string file = slash == std::string::npos ? path : path.substr(slash + 1);
  return file.substr(0, file.find('.'));
}

}  // namespace

Reply measure_quality(Context& context, const QualityRequest& request) {
  if (!request.out.empty() && !context.files.exists(request.out))  // told before the minutes, not after
    return fail(base::make_error("bench.no-folder", "there is no folder " + request.out, "make it first"));
  std::vector<std::shared_ptr<BeliefEngine>> engines;  // a loom that cannot be read is told before any is played
  for (const std::string& path : request.looms) {
    const base::Result<std::shared_ptr<BeliefEngine>> engine = context.cache.engine(context, path, request.meter);
    if (!engine) return fail(engine.diagnostics());
    engines.push_back(*engine);
  }
  Quality all;
  std::vector<std::pair<std::string, Quality>> looms;
  const double total = static_cast<double>(request.count * engines.size());
  for (std::size_t l = 0; l < engines.size(); ++l) {
    Quality own;
    for (std::size_t i = 0; i < request.count && !context.cancel.cancelled(); ++i) {
      if (context.progress != nullptr)
        context.progress->report("rehearsing " + request.looms[l], static_cast<double>(l * request.count + i) / total);
      const base::Result<base::Done> done = play_all(context, engines[l], request.seed + i, own, request.alone);
      if (!done) return fail(done.diagnostics());
    }
    all.add(own);
    looms.emplace_back(loom_name(request.looms[l]), std::move(own));
  }
  Reply reply;
  reply.text = report_of(all, looms, plain, "");
  reply.result = quality_json(all, looms);
  if (!request.out.empty()) {
    const base::Result<base::Done> written =
        write_quality(context, request.out, report_of(all, looms, markdown, "- "), reply);
    if (!written) return fail(written.diagnostics());
  }
  return reply;
}

}  // namespace halfsplit::app
