// SPDX-License-Identifier: Apache-2.0
#include "app/check_text.h"

#include "app/memory_files.h"
#include "app/ops.h"

namespace halfsplit::app {

Reply check_text(Context& context, const std::string& path, const std::string& text) {
  MemoryFiles files(context.files);
  const std::string name = path.starts_with("mem:") ? path : "mem:" + path;
  const base::Result<base::Done> written = files.write(name, text);
  if (!written) return fail(written.diagnostics());
  const std::shared_ptr<Cache> cache = make_cache();
  Context inside{files, context.clock, *cache, nullptr, context.cancel};
  Arguments arguments;
  arguments.add("loom", name);
  Reply checked = op_check(inside, arguments);
  for (base::Diagnostic& said : checked.diagnostics)
    if (said.where.file == name) said.where.file = path;
  return checked;
}

}  // namespace halfsplit::app
