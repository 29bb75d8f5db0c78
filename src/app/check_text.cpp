// SPDX-License-Identifier: Apache-2.0
#include "app/check_text.h"

#include "app/memory_files.h"
#include "app/ops.h"

namespace halfsplit::app {

namespace {

Reply run_on_text(Context& context, const std::string& name, const std::string& text,
                  Reply (*run)(Context&, const Arguments&), Arguments arguments) {
  MemoryFiles files(context.files);
  const base::Result<base::Done> written = files.write(name, text);
  if (!written) return fail(written.diagnostics());
  const std::shared_ptr<Cache> cache = make_cache();
  Context inside{files, context.clock, *cache, nullptr, context.cancel};
  arguments.add("loom", name);
  return run(inside, arguments);
}

}  // namespace

Reply check_text(Context& context, const std::string& path, const std::string& text) {
  const std::string name = path.starts_with("mem:") ? path : "mem:" + path;
  Reply checked = run_on_text(context, name, text, op_check, {});
  for (base::Diagnostic& said : checked.diagnostics)
    if (said.where.file == name) said.where.file = path;
  // What nobody was asked for is remarked on when the file is checked.
  std::erase_if(checked.diagnostics, [](const base::Diagnostic& said) { return said.code == "check.no-cautions"; });
  return checked;
}

Reply draw_text(Context& context, const std::string& text, bool dark) {
  Arguments arguments;
  if (dark) arguments.add("dark", "true");
  return run_on_text(context, "mem:loom", text, op_draw, arguments);
}

}  // namespace halfsplit::app
