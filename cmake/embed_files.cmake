# SPDX-License-Identifier: Apache-2.0
# cmake -DFROM=folder -DINTO=folder -P embed_files.cmake: compresses every file of FROM with gzip and writes
# INTO/page_files.cpp, which takes the compressed files in by the assembler: a few hundred kilobytes cost the compiler
# nothing that way.
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
