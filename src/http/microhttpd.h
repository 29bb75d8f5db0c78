// SPDX-License-Identifier: Apache-2.0
// libmicrohttpd, loaded when the page is served and not before: it brings a dozen other libraries along, and every
// command would pay ten milliseconds for them. The names and types are those of <microhttpd.h>.
#pragma once

#include <microhttpd.h>

namespace halfsplit::http {

struct MicroHttpd {
  decltype(&MHD_start_daemon) start_daemon = nullptr;
  decltype(&MHD_quiesce_daemon) quiesce_daemon = nullptr;
  decltype(&MHD_stop_daemon) stop_daemon = nullptr;
  decltype(&MHD_get_connection_info) get_connection_info = nullptr;
  decltype(&MHD_get_connection_values) get_connection_values = nullptr;
  decltype(&MHD_suspend_connection) suspend_connection = nullptr;
  decltype(&MHD_resume_connection) resume_connection = nullptr;
  decltype(&MHD_create_response_from_buffer) create_response_from_buffer = nullptr;
  decltype(&MHD_create_response_from_callback) create_response_from_callback = nullptr;
  decltype(&MHD_add_response_header) add_response_header = nullptr;
  decltype(&MHD_queue_response) queue_response = nullptr;
  decltype(&MHD_destroy_response) destroy_response = nullptr;
};

// None: the library is not on this machine, or lacks something. Loaded once, kept to the end.
[[nodiscard]] const MicroHttpd* load_microhttpd();

}  // namespace halfsplit::http
