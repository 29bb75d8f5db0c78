// SPDX-License-Identifier: Apache-2.0
// What the bytes of a message say: codes, names, requests, parameters, diagnostic replies.
#include "app/decoded.h"
#include "base/number.h"
#include "can/j1939_groups.h"
#include "can/j1939_id.h"
#include "can/j1939_name.h"
#include "can/j1939_requests.h"
#include "can/parameters.h"
#include "can/trouble_codes.h"
#include "can/uds_codes.h"

namespace halfsplit::app {

namespace {

using Bytes = std::span<const std::uint8_t>;

std::string group_text(std::uint32_t pgn) {
  const can::J1939Group* group = can::find_j1939_group(pgn);
  return std::to_string(pgn) + (group != nullptr ? ", " + std::string(group->name) : "");
}

void tell_lamps(const can::Lamps& lamps, Decoded& decoded) {
  const std::pair<const char*, can::LampState> all[] = {{"malfunction", lamps.malfunction},
                                                        {"red_stop", lamps.red_stop},
                                                        {"amber_warning", lamps.amber_warning},
                                                        {"protect", lamps.protect}};
  std::string text;
  for (const auto& [name, state] : all) {
    decoded.fields["lamps"][name] = can::lamp_state_word(state);
    if (state == can::LampState::kOff) continue;
    std::string word(name);
    for (char& c : word) c = c == '_' ? ' ' : c;
    text += (text.empty() ? "" : ", ") + word + " " + std::string(can::lamp_state_word(state));
  }
  decoded.row("lamps", text.empty() ? "all off" : text);
}

void tell_code(const can::TroubleCode& code, Decoded& decoded) {
  const can::Parameter* parameter = can::find_parameter(code.spn);
  const can::FailureMode mode = can::failure_mode(code.fmi);
  Json one = {{"spn", code.spn}, {"fmi", code.fmi}, {"name", mode.name}};
  if (code.occurrences != can::kOccurrencesNotSaid) one["occurrences"] = code.occurrences;
  if (parameter != nullptr) one["parameter"] = parameter->name;
  if (code.older_conversion) one["possible_spns"] = can::possible_spns(code);
  decoded.fields["codes"].push_back(one);
  std::string text = can::trouble_code_text(code) + ": ";
  if (parameter != nullptr) text += std::string(parameter->name) + ", ";
  text += std::string(mode.name);
  if (code.occurrences != can::kOccurrencesNotSaid)
    text += code.occurrences == 1 ? ", once" : ", " + std::to_string(code.occurrences) + " times";
  decoded.row("code", text);
  decoded.row("",
              std::string(mode.means) + (mode.wiring.empty() ? "" : "; of the wiring: " + std::string(mode.wiring)));
}

void tell_code_report(const can::CodeGroup& group, const can::CodeReport& report, Decoded& decoded) {
  decoded.row("tells", std::string(group.name) + ", codes: " + std::string(group.tells));
  decoded.fields["codes"] = Json::array();
  tell_lamps(report.lamps, decoded);
  for (const can::TroubleCode& code : report.codes) tell_code(code, decoded);
  if (report.codes.empty()) decoded.row("code", "none");
}

void tell_parameters(std::uint32_t pgn, Bytes bytes, Decoded& decoded) {
  Json all = Json::array();
  for (const can::Parameter& parameter : can::parameters_of(pgn)) {
    const can::ParameterReading reading = can::read_parameter(parameter, bytes);
    Json one = {{"spn", parameter.spn}, {"name", parameter.name}, {"reading", can::reading_word(reading.reading)}};
    std::string text(can::reading_word(reading.reading));
    if (reading.reading == can::Reading::kValue) {
      one["value"] = reading.value;
      one["unit"] = parameter.unit;
      text = base::format_number(reading.value);
      if (parameter.unit != "state") text += " " + std::string(parameter.unit);
    }
    all.push_back(one);
    decoded.row("  SPN " + std::to_string(parameter.spn), std::string(parameter.name) + ": " + text);
  }
  if (!all.empty()) decoded.fields["parameters"] = all;
}

void tell_acknowledgement(const can::Acknowledgement& reply, Decoded& decoded) {
  decoded.fields["answer"] = {
      {"kind", can::acknowledgement_word(reply.kind)}, {"pgn", reply.pgn}, {"to", reply.address}};
  decoded.row("answers", std::string(can::acknowledgement_word(reply.kind)) + ": group " + group_text(reply.pgn) +
                             ", asked by address " + std::to_string(reply.address));
}

std::string status_text(std::uint8_t status) {
  std::string text = hex_text(status, 2);
  const char* before = ": ";
  for (const can::StatusBit& bit : can::status_bits()) {
    if ((status >> bit.bit & 1) == 0) continue;
    text += before + std::string(bit.name);
    before = ", ";
  }
  return text;
}

}  // namespace

void tell_name(std::uint64_t name, Decoded& decoded) {
  const can::J1939Name parts = can::split_j1939_name(name);
  const std::string_view function = can::name_function_word(parts);
  const std::string_view industry = can::industry_group_word(parts.industry_group);
  decoded.fields["name"] = {{"value", hex_text(name, 16)},
                            {"identity_number", parts.identity_number},
                            {"manufacturer_code", parts.manufacturer_code},
                            {"ecu_instance", parts.ecu_instance},
                            {"function_instance", parts.function_instance},
                            {"function", parts.function},
                            {"function_word", function},
                            {"vehicle_system", parts.vehicle_system},
                            {"vehicle_system_instance", parts.vehicle_system_instance},
                            {"industry_group", parts.industry_group},
                            {"industry_word", industry},
                            {"arbitrary_address_capable", parts.arbitrary_address_capable}};
  decoded.row("NAME", hex_text(name, 16) + " (the lower one wins an address)");
  decoded.row("  function", std::to_string(parts.function) + (function.empty() ? "" : ", " + std::string(function)) +
                                ", instance " + std::to_string(parts.function_instance));
  decoded.row("  industry",
              std::to_string(parts.industry_group) + (industry.empty() ? "" : ", " + std::string(industry)));
  decoded.row("  system", std::to_string(parts.vehicle_system) + ", instance " +
                              std::to_string(parts.vehicle_system_instance) + "; ECU instance " +
                              std::to_string(parts.ecu_instance));
  decoded.row("  maker", "code " + std::to_string(parts.manufacturer_code) + ", identity number " +
                             std::to_string(parts.identity_number));
  decoded.row("  address",
              parts.arbitrary_address_capable ? "takes another one when it loses its own" : "has only this one");
}

void tell_group_bytes(std::uint32_t pgn, Bytes bytes, Decoded& decoded) {
  const can::CodeGroup* codes = can::find_code_group(pgn);
  if (codes != nullptr) {
    if (const auto report = can::read_code_report(bytes)) tell_code_report(*codes, *report, decoded);
    return;
  }
  if (pgn == can::kPgnAddressClaimed) {
    if (const auto name = can::read_j1939_name(bytes)) tell_name(*name, decoded);
  } else if (pgn == can::kPgnRequest) {
    const auto asked = can::read_request(bytes);
    if (!asked) return;
    decoded.fields["asks_for"] = *asked;
    decoded.row("asks for", "group " + group_text(*asked));
  } else if (pgn == can::kPgnAcknowledgement) {
    if (const auto reply = can::read_acknowledgement(bytes)) tell_acknowledgement(*reply, decoded);
  } else if (pgn == can::kPgnTransportControl || pgn == can::kPgnTransportData) {
    decoded.row("", "part of a longer message; capture puts it together");
  } else {
    tell_parameters(pgn, bytes, decoded);
  }
}

void tell_diagnostic_bytes(Bytes bytes, Decoded& decoded) {
  const auto reply = can::read_diagnostic_reply(bytes);
  if (!reply) return decoded.row("", "a diagnostic message about something else than codes");
  decoded.fields["diagnosis"] = {{"service", reply->service}, {"tells", reply->tells}};
  decoded.row("diagnosis", std::string(reply->tells));
  if (reply->kind == can::DiagnosticKind::kRefused) {
    decoded.fields["diagnosis"]["refusal"] = can::refusal_word(reply->refusal);
    decoded.row("refused", hex_text(reply->refusal, 2) + ", " + std::string(can::refusal_word(reply->refusal)));
  }
  if (reply->kind == can::DiagnosticKind::kCount) {
    decoded.fields["diagnosis"]["count"] = reply->count;
    decoded.row("codes", std::to_string(reply->count));
  }
  Json codes = Json::array();
  for (const can::DiagnosticCode& code : reply->codes) {
    Json one = {{"code", can::diagnostic_code_text(code)}};
    std::string text = can::diagnostic_code_text(code);
    if (code.status) {
      one["status"] = *code.status;
      text += ", status " + status_text(*code.status);
    }
    codes.push_back(one);
    decoded.row("code", text);
  }
  decoded.fields["diagnosis"]["codes"] = codes;
}

}  // namespace halfsplit::app
