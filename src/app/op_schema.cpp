// SPDX-License-Identifier: Apache-2.0
#include "app/ops.h"
#include "formats/fault_tables.h"
#include "formats/loom_schema.h"

namespace halfsplit::app {

Reply op_schema(Context&, const Arguments& arguments) {
  Reply reply;
  reply.text = arguments.has("parts")    ? formats::part_kinds_markdown()
               : arguments.has("faults") ? formats::fault_tables_markdown()
                                         : formats::loom_schema();
  reply.result = {{"text", reply.text}};
  return reply;
}

}  // namespace halfsplit::app
