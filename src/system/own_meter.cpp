// SPDX-License-Identifier: Apache-2.0
#include "system/own_meter.h"

#include <cstdlib>
#include <optional>

namespace halfsplit::system {

namespace {

std::optional<std::string> environment(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? std::nullopt : std::optional<std::string>(value);
}

}  // namespace

std::string find_own_meter(base::Files& files) {
  if (const std::optional<std::string> named = environment("HALFSPLIT_METER")) return *named;
  std::string folder = environment("XDG_CONFIG_HOME").value_or("");
  if (!folder.starts_with('/')) {  // a relative one is to be ignored
    const std::string home = environment("HOME").value_or("");
    if (home.empty()) return "";
    folder = home + "/.config";
  }
  const std::string path = folder + "/halfsplit/default.meter.toml";
  return files.exists(path) ? path : "";
}

}  // namespace halfsplit::system
