# SPDX-License-Identifier: Apache-2.0
# halfsplit_page: the files of web/dist, compressed, inside the program (src/http/page.h). HALFSPLIT_PAGE: AUTO builds the
# page when there are Node and web/, ON insists, OFF leaves it out. Without a page the program still serves its API.
set(HALFSPLIT_PAGE AUTO CACHE STRING "Build the page into the program: AUTO (when Node is there), ON, OFF")
set_property(CACHE HALFSPLIT_PAGE PROPERTY STRINGS AUTO ON OFF)

set(page_made ${CMAKE_BINARY_DIR}/page)
set(page_source ${page_made}/page_files.cpp)
file(MAKE_DIRECTORY ${page_made})

find_program(HALFSPLIT_NPM npm)
set(halfsplit_page_why "")
if(HALFSPLIT_PAGE STREQUAL "OFF")
  set(halfsplit_page_why "HALFSPLIT_PAGE is OFF")
elseif(NOT EXISTS ${CMAKE_SOURCE_DIR}/web/package-lock.json)
  set(halfsplit_page_why "there is no web/package-lock.json")
elseif(NOT HALFSPLIT_NPM)
  set(halfsplit_page_why "there is no npm")
endif()
if(halfsplit_page_why AND HALFSPLIT_PAGE STREQUAL "ON")
  message(FATAL_ERROR "HALFSPLIT_PAGE is ON, but ${halfsplit_page_why}")
endif()

if(halfsplit_page_why)
  message(STATUS "no page in this build: ${halfsplit_page_why}")
  configure_file(${CMAKE_SOURCE_DIR}/cmake/no_page.cpp.in ${page_source} @ONLY)
else()
  file(GLOB_RECURSE page_inputs CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/web/src/* ${CMAKE_SOURCE_DIR}/examples/*.loom.toml)
  file(GLOB page_settings CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/web/*.json ${CMAKE_SOURCE_DIR}/web/*.mjs
       ${CMAKE_SOURCE_DIR}/web/*.js ${CMAKE_SOURCE_DIR}/web/*.ts ${CMAKE_SOURCE_DIR}/web/*.html)
  # npm ci only when the lock changed; the build only when a source changed. AUTO goes on without a page when npm fails,
  # on a machine without a network for example.
  add_custom_command(
    OUTPUT ${page_source}
    COMMAND ${CMAKE_COMMAND} -DNPM=${HALFSPLIT_NPM} -DWEB=${CMAKE_SOURCE_DIR}/web -DINTO=${page_made}
            -DINSIST=${HALFSPLIT_PAGE} -P ${CMAKE_SOURCE_DIR}/cmake/embed_files.cmake
    DEPENDS ${CMAKE_SOURCE_DIR}/web/package-lock.json ${page_inputs} ${page_settings}
            ${CMAKE_SOURCE_DIR}/cmake/embed_files.cmake
    COMMENT "the page: web/ into the program" VERBATIM)
endif()

add_library(halfsplit_page STATIC ${page_source})
target_link_libraries(halfsplit_page PRIVATE hs_http)
