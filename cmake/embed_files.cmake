# SPDX-License-Identifier: Apache-2.0
# cmake -DNPM=npm -DWEB=folder -DINTO=folder -DINSIST=ON|AUTO -P embed_files.cmake: builds WEB/dist, compresses every file
# of it with gzip and writes INTO/page_files.cpp, which takes the compressed files in by the assembler: a few hundred
# kilobytes cost the compiler nothing that way.

cmake_minimum_required(VERSION 3.25)

# Runs npm in WEB; when it fails: no page, with a warning, or an error when the page was insisted on.
function(npm)
  execute_process(COMMAND ${NPM} ${ARGN} WORKING_DIRECTORY ${WEB} RESULT_VARIABLE failed OUTPUT_VARIABLE said
                  ERROR_VARIABLE said)
  if(NOT failed)
    return()
  endif()
  string(JOIN " " words ${ARGN})
  if(INSIST STREQUAL "ON")
    message(FATAL_ERROR "npm ${words}: ${said}")
  endif()
  message(WARNING "this build has no page, because `npm ${words}` failed (touch web/package-lock.json to try again):\n"
                  "${said}")
  configure_file(${CMAKE_CURRENT_LIST_DIR}/no_page.cpp.in ${INTO}/page_files.cpp @ONLY)
  file(TOUCH ${INTO}/page_files.cpp)
  set(no_page TRUE PARENT_SCOPE)
endfunction()

file(SHA256 ${WEB}/package-lock.json lock)
set(installed "")
if(EXISTS ${WEB}/node_modules/.halfsplit-lock)
  file(READ ${WEB}/node_modules/.halfsplit-lock installed)
endif()
if(NOT installed STREQUAL lock)
  npm(ci --no-audit --no-fund --loglevel=error)
  if(no_page)
    return()
  endif()
  file(WRITE ${WEB}/node_modules/.halfsplit-lock ${lock})
endif()
file(REMOVE_RECURSE ${WEB}/dist)
npm(run --silent build)
if(no_page)
  return()
endif()

set(FROM ${WEB}/dist)
file(GLOB_RECURSE names RELATIVE ${FROM} ${FROM}/*)
list(FILTER names EXCLUDE REGEX "\\.map$|/\\.|^\\.")
list(SORT names)
if(NOT "index.html" IN_LIST names)
  message(FATAL_ERROR "${FROM} has no index.html")
endif()
file(REMOVE_RECURSE ${INTO}/packed)
file(MAKE_DIRECTORY ${INTO}/packed)
set(data "")
set(symbols "")
set(records "")
set(number 0)
set(total 0)
foreach(name IN LISTS names)
  set(packed ${INTO}/packed/${number}.gz)
  execute_process(COMMAND gzip -9 -n -c ${FROM}/${name} OUTPUT_FILE ${packed} COMMAND_ERROR_IS_FATAL ANY)
  file(SHA256 ${packed} print)
  string(SUBSTRING ${print} 0 16 print)
  file(SIZE ${packed} size)
  math(EXPR total "${total} + ${size}")
  string(APPEND data "asm(\".section .rodata\\n.global hs_page_${number}\\n.hidden hs_page_${number}\\nhs_page_${number}:\\n.incbin \\\"${packed}\\\"\\n.byte 0\\n.previous\");\n")
  string(APPEND symbols "extern const char hs_page_${number}[];\n")
  string(APPEND records "      {\"${name}\", {hs_page_${number}, ${size}}, \"\\\"${print}\\\"\"},\n")
  math(EXPR number "${number} + 1")
endforeach()
file(WRITE ${INTO}/page_files.cpp
"// Made by cmake/embed_files.cmake: ${number} files, ${total} bytes compressed.
#include \"http/page.h\"
${data}extern \"C\" {
${symbols}}
const std::vector<halfsplit::http::PageFile>& halfsplit::http::page_files() {
  static const std::vector<PageFile> files{
${records}  };
  return files;
}
")
message(STATUS "page: ${number} files, ${total} bytes compressed")
