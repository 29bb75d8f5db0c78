// SPDX-License-Identifier: Apache-2.0
#include "http/microhttpd.h"

#include <dlfcn.h>

#include <optional>

namespace halfsplit::http {

namespace {

constexpr const char* kLibrary = "libmicrohttpd.so.12";  // the version of the interface in Debian 12

template <class Function>
bool find(void* library, const char* name, Function& function) {
  function = reinterpret_cast<Function>(::dlsym(library, name));
  return function != nullptr;
}

std::optional<MicroHttpd> load() {
  void* library = ::dlopen(kLibrary, RTLD_NOW | RTLD_LOCAL);
  if (library == nullptr) return std::nullopt;
  MicroHttpd mhd;
  const bool whole = find(library, "MHD_start_daemon", mhd.start_daemon) &&
                     find(library, "MHD_quiesce_daemon", mhd.quiesce_daemon) &&
                     find(library, "MHD_stop_daemon", mhd.stop_daemon) &&
                     find(library, "MHD_get_connection_info", mhd.get_connection_info) &&
                     find(library, "MHD_get_connection_values", mhd.get_connection_values) &&
                     find(library, "MHD_suspend_connection", mhd.suspend_connection) &&
                     find(library, "MHD_resume_connection", mhd.resume_connection) &&
                     find(library, "MHD_create_response_from_buffer", mhd.create_response_from_buffer) &&
                     find(library, "MHD_create_response_from_callback", mhd.create_response_from_callback) &&
                     find(library, "MHD_add_response_header", mhd.add_response_header) &&
                     find(library, "MHD_queue_response", mhd.queue_response) &&
                     find(library, "MHD_destroy_response", mhd.destroy_response);
  return whole ? std::optional(mhd) : std::nullopt;
}

}  // namespace

const MicroHttpd* load_microhttpd() {
  static const std::optional<MicroHttpd> loaded = load();
  return loaded ? &*loaded : nullptr;
}

}  // namespace halfsplit::http
