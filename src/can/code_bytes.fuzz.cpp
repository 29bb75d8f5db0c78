// SPDX-License-Identifier: Apache-2.0
// Any bytes as the data of any message that is read here: codes, names, requests, parameters, diagnostic replies. What
// is read can be written and read again to the same.
#include "base/check.h"
#include "can/j1939_id.h"
#include "can/j1939_name.h"
#include "can/j1939_requests.h"
#include "can/parameters.h"
#include "can/trouble_codes.h"
#include "can/uds_codes.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit;
  const std::span<const std::uint8_t> bytes(data, size);
  if (const auto report = can::read_code_report(bytes)) {
    for (const can::TroubleCode& code : report->codes) {
      const auto four = can::join_trouble_code(code);
      HS_CHECK(can::split_trouble_code(four) == code, "a code comes together again");
      HS_CHECK(!can::trouble_code_text(code).empty(), "a code has a text");
    }
  }
  if (const auto name = can::read_j1939_name(bytes)) {
    const can::J1939Name parts = can::split_j1939_name(*name);
    HS_CHECK(can::join_j1939_name(parts) == *name, "a NAME comes together again");
    (void)can::name_function_word(parts);
  }
  if (const auto pgn = can::read_request(bytes)) HS_CHECK(*pgn <= can::kLargestPgn, "a group has 18 bits");
  (void)can::read_acknowledgement(bytes);
  for (const can::Parameter& parameter : can::parameters()) (void)can::read_parameter(parameter, bytes);
  (void)can::read_diagnostic_reply(bytes);
  (void)can::read_code_text(std::string_view(reinterpret_cast<const char*>(data), size));
  return 0;
}
