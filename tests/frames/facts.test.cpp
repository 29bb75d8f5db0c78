// SPDX-License-Identifier: Apache-2.0
// What frames say against the published tables of tests/data/facts, every row of them.
#include "tests/oracle/facts.h"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "can/j1939_id.h"
#include "can/j1939_name.h"
#include "can/parameters.h"
#include "can/trouble_codes.h"
#include "can/uds_codes.h"
#include "tests/frames/recorded_frames.h"

namespace halfsplit::frames {
namespace {

using oracle::FactRow;
using oracle::read_facts;

std::uint32_t hex(const std::string& text) { return static_cast<std::uint32_t>(std::stoul(text, nullptr, 16)); }

TEST(FrameFacts, IdentifiersComeApartAsPublished) {
  const std::vector<FactRow> rows = read_facts("j1939_id_examples.csv");
  EXPECT_EQ(rows.size(), 19U);
  for (const FactRow& row : rows) {
    SCOPED_TRACE(row.text("can_id"));
    const can::J1939Id id = can::split_j1939_id(hex(row.text("can_id")));
    EXPECT_EQ(id.priority, row.number("priority"));
    EXPECT_EQ(id.pgn(), row.number("pgn"));
    EXPECT_EQ(id.pgn(), hex(row.text("pgn_hex")));
    EXPECT_EQ(id.addressed(), row.text("destination_in_id").starts_with("yes"));
    EXPECT_EQ(id.destination(), row.number("da"));
    EXPECT_EQ(id.source, row.number("sa"));
  }
}

std::string codes_text(const can::CodeReport& report) {
  std::string text;
  for (const can::TroubleCode& code : report.codes) {
    text += (text.empty() ? "" : "; ") + std::to_string(code.spn) + "/" + std::to_string(code.fmi) + "/" +
            std::to_string(code.occurrences);
  }
  return text.empty() ? "none" : text;
}

TEST(FrameFacts, CodeReportsAsPublished) {
  const std::vector<FactRow> rows = read_facts("j1939_dm1_examples.csv");
  EXPECT_EQ(rows.size(), 16U);
  for (const FactRow& row : rows) {
    SCOPED_TRACE(row.text("id"));
    const auto report = can::read_code_report(bytes_of(row.text("data_bytes_hex")));
    ASSERT_TRUE(report);
    EXPECT_EQ(can::lamp_state_word(report->lamps.malfunction), row.text("malfunction_lamp"));
    EXPECT_EQ(can::lamp_state_word(report->lamps.red_stop), row.text("red_stop_lamp"));
    EXPECT_EQ(can::lamp_state_word(report->lamps.amber_warning), row.text("amber_warning_lamp"));
    EXPECT_EQ(can::lamp_state_word(report->lamps.protect), row.text("protect_lamp"));
    EXPECT_TRUE(row.text("dtcs_spn/fmi/oc").starts_with(codes_text(*report))) << codes_text(*report);
  }
}

TEST(FrameFacts, FourBytesOfACodeAsPublished) {
  const std::vector<FactRow> rows = read_facts("j1939_dtc_bytes.csv");
  EXPECT_EQ(rows.size(), 11U);
  for (const FactRow& row : rows) {
    SCOPED_TRACE(row.text("dtc_bytes_hex"));
    const std::vector<std::uint8_t> bytes = bytes_of(row.text("dtc_bytes_hex"));
    ASSERT_EQ(bytes.size(), 4U);
    const can::TroubleCode code = can::split_trouble_code(std::span(bytes).first<4>());
    const std::vector<std::uint32_t> spns = can::possible_spns(code);
    EXPECT_NE(std::find(spns.begin(), spns.end(), row.number("spn")), spns.end());
    // Method 3 and 4 come first; methods 1 and 2, which the bytes do not tell from it, are among the others.
    const bool ambiguous = row.text("source").find("method 1") != std::string::npos ||
                           row.text("source").find("method 2") != std::string::npos;
    EXPECT_EQ(code.spn == row.number("spn"), !ambiguous);
    EXPECT_EQ(code.fmi, row.number("fmi"));
    EXPECT_EQ(code.occurrences, row.number("occurrence_count"));
    EXPECT_EQ(code.older_conversion, row.text("conversion_bit") == "1");
  }
}

TEST(FrameFacts, FailureModesByTheirNumbers) {
  const std::vector<FactRow> rows = read_facts("j1939_fmi.csv");
  EXPECT_EQ(rows.size(), 32U);
  for (const FactRow& row : rows) {
    const can::FailureMode mode = can::failure_mode(static_cast<std::uint8_t>(row.number("fmi")));
    EXPECT_EQ(mode.name, row.text("short_name"));
    EXPECT_EQ(mode.means, row.text("meaning_own_words"));
    EXPECT_EQ(mode.wiring, row.text("usual_wiring_reading"));
  }
}

TEST(FrameFacts, AddressesByTheirNumbers) {
  for (const FactRow& row : read_facts("j1939_sa.csv")) {
    EXPECT_EQ(can::source_address_word(static_cast<std::uint8_t>(row.number("sa"))), row.text("function"));
    EXPECT_EQ(row.number("sa"), hex(row.text("sa_hex")));
  }
}

TEST(FrameFacts, ParametersAsInTheTable) {
  const std::vector<FactRow> rows = read_facts("j1939_spn_common.csv");
  EXPECT_EQ(can::parameters().size(), rows.size());
  for (const FactRow& row : rows) {
    SCOPED_TRACE(row.text("spn"));
    const can::Parameter* parameter = can::find_parameter(static_cast<std::uint32_t>(row.number("spn")));
    ASSERT_NE(parameter, nullptr);
    EXPECT_EQ(parameter->pgn, row.number("pgn"));
    EXPECT_EQ(parameter->name, row.text("parameter_own_words"));
    EXPECT_EQ(parameter->start_byte, row.number("start_byte_1based"));
    EXPECT_EQ(parameter->start_bit, row.number("start_bit_1based"));
    EXPECT_EQ(parameter->length_bits, row.number("length_bits"));
    EXPECT_EQ(parameter->per_bit, row.number("resolution_per_bit"));
    EXPECT_EQ(parameter->offset, row.number("offset"));
    EXPECT_EQ(parameter->unit, row.text("unit"));
  }
}

// An open table of another origin (tests/data/descriptions/j1939-pgn-spn-subset.json): places and scaling of the
// parameters that both have. It counts distance in metres, and it has one group twice.
TEST(FrameFacts, ParametersAsInAnotherTable) {
  std::ifstream stream("tests/data/descriptions/j1939-pgn-spn-subset.json");
  const nlohmann::json groups = nlohmann::json::parse(stream);
  EXPECT_EQ(groups.size(), 31U);
  std::size_t compared = 0;
  for (const nlohmann::json& group : groups) {
    for (const nlohmann::json& spn : group.at("spns")) {
      const can::Parameter* parameter = can::find_parameter(spn.at("number").get<std::uint32_t>());
      if (parameter == nullptr || !spn.contains("offset")) continue;
      SCOPED_TRACE(parameter->spn);
      ++compared;
      EXPECT_EQ(parameter->pgn, group.at("pgn").get<std::uint32_t>());
      EXPECT_EQ(parameter->start_byte, spn.at("offset").get<int>() + 1);
      if (spn.contains("byteSize")) {
        const double unit = spn.value("units", "") == "m" && parameter->unit == "km" ? 0.001 : 1.0;
        EXPECT_EQ(parameter->length_bits, spn.at("byteSize").get<int>() * 8);
        EXPECT_NEAR(parameter->per_bit, spn.at("formatGain").get<double>() * unit, 1e-9);
        // There -7.18125: a slip of theirs. Half of the 250 values that a byte has, times 1/16 km/h, is 7.8125.
        const bool slip = parameter->spn == 905 || parameter->spn == 906;
        EXPECT_NEAR(parameter->offset, slip ? -7.8125 : spn.at("formatOffset").get<double>(), 1e-9);
      } else {
        EXPECT_EQ(parameter->start_bit, spn.at("bitOffset").get<int>() + 1);
        EXPECT_EQ(parameter->length_bits, spn.at("bitSize").get<int>());
      }
    }
  }
  EXPECT_GE(compared, 35U);
}

TEST(FrameFacts, TwoByteCodesAsText) {
  const std::vector<FactRow> rows = read_facts("dtc_two_byte_examples.csv");
  EXPECT_EQ(rows.size(), 15U);
  for (const FactRow& row : rows) {
    const std::vector<std::uint8_t> bytes = bytes_of(row.text("bytes_hex"));
    const auto code = static_cast<std::uint16_t>(bytes.at(0) << 8 | bytes.at(1));
    EXPECT_EQ(can::code_text(code), row.text("text"));
    EXPECT_EQ(can::read_code_text(row.text("text")), code);
  }
}

TEST(FrameFacts, FailureTypesByTheirNumbers) {
  const std::vector<FactRow> rows = read_facts("dtc_failure_type_byte.csv");
  EXPECT_EQ(rows.size(), 37U);
  for (const FactRow& row : rows) {
    EXPECT_EQ(can::failure_type_word(static_cast<std::uint8_t>(hex(row.text("byte_hex")))),
              row.text("meaning_own_words"));
  }
}

TEST(FrameFacts, StatusBitsByTheirNumbers) {
  const std::vector<FactRow> rows = read_facts("iso14229_status_bits.csv");
  ASSERT_EQ(rows.size(), can::status_bits().size());
  for (std::size_t k = 0; k < rows.size(); ++k) {
    const can::StatusBit& bit = can::status_bits()[k];
    EXPECT_EQ(bit.bit, rows[k].number("bit"));
    EXPECT_EQ(1U << bit.bit, hex(rows[k].text("mask_hex")));
    EXPECT_EQ(bit.name, rows[k].text("name"));
    EXPECT_EQ(bit.means, rows[k].text("meaning_own_words"));
  }
  for (const FactRow& row : read_facts("iso14229_status_examples.csv")) {
    std::string bits;
    for (const can::StatusBit& bit : can::status_bits()) {
      if ((hex(row.text("status_hex")) >> bit.bit & 1U) != 0)
        bits += (bits.empty() ? "" : " ") + std::to_string(bit.bit);
    }
    EXPECT_EQ(bits, row.text("bits_set"));
  }
}

}  // namespace
}  // namespace halfsplit::frames
