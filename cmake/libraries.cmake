# SPDX-License-Identifier: Apache-2.0
# The libraries of others, each from its Debian package (the lists are in ./dev).

# A library without a CMake package of its own becomes an imported target.
function(halfsplit_import target library header suffixes)
  find_library(${target}_LIBRARY NAMES ${library} REQUIRED)
  find_path(${target}_INCLUDE ${header} PATH_SUFFIXES ${suffixes} REQUIRED)
  add_library(${target} UNKNOWN IMPORTED)
  set_target_properties(${target} PROPERTIES IMPORTED_LOCATION "${${target}_LIBRARY}"
                                             INTERFACE_INCLUDE_DIRECTORIES "${${target}_INCLUDE}")
endfunction()

halfsplit_import(halfsplit_klu klu klu.h suitesparse)       # libsuitesparse-dev: sparse LU for circuits
halfsplit_import(halfsplit_amd amd amd.h suitesparse)       # libsuitesparse-dev: its ordering
halfsplit_import(halfsplit_edit edit histedit.h "")         # libedit-dev: line editing at the keyboard (BSD licence)
halfsplit_import(halfsplit_hpdf hpdf hpdf.h "")             # libhpdf-dev: the sheet as PDF (zlib licence)
# libexpat1-dev: XML of KCD files (MIT licence). Chosen over pugixml: it tells line and column of everything it reports,
# refuses what is no XML, streams, and hands over entity definitions before they grow, so that they can be refused.
halfsplit_import(halfsplit_expat expat expat.h "")
find_package(ZLIB REQUIRED)                                 # zlib1g-dev: a job small enough for a square code
find_path(HALFSPLIT_MICROHTTPD_INCLUDE microhttpd.h REQUIRED)   # libmicrohttpd-dev: HTTP for the page (LGPL 2.1); loaded by serve
halfsplit_import(halfsplit_qrencode qrencode qrencode.h "") # libqrencode-dev: QR codes (LGPL 2.1)
halfsplit_import(halfsplit_zstd "libzstd.a;zstd" zstd.h "") # libzstd-dev: recordings packed with zstd (BSD licence)
find_package(Threads REQUIRED)
# The book's libraries as archives where there are any: loading three more shared ones costs every start a millisecond.
halfsplit_import(halfsplit_sqlite "libsqlite3.a;sqlite3" sqlite3.h "")             # libsqlite3-dev: the job book
halfsplit_import(halfsplit_gpg_error "libgpg-error.a;gpg-error" gpg-error.h "")    # libgpg-error-dev: base64
halfsplit_import(halfsplit_gcrypt "libgcrypt.a;gcrypt" gcrypt.h "")                # libgcrypt20-dev: SHA-256 of photos
target_link_libraries(halfsplit_sqlite INTERFACE m)
target_link_libraries(halfsplit_gcrypt INTERFACE halfsplit_gpg_error)
# libmimalloc-dev: memory of programs (MIT licence). Predictions are many small lists: of a rehearsal with buses a quarter
# of the time lay in glibc's malloc. It takes the place of malloc in programs, never in tests of rooms or under sanitizers.
option(HALFSPLIT_MIMALLOC "Programs take their memory from mimalloc" ON)
if(HALFSPLIT_MIMALLOC)
  find_package(mimalloc REQUIRED)
  add_library(halfsplit_memory INTERFACE)
  # Nothing calls it by name, so the linker is told to keep it.
  target_link_libraries(halfsplit_memory INTERFACE "-Wl,--push-state,--no-as-needed" mimalloc "-Wl,--pop-state")
endif()
find_package(tomlplusplus REQUIRED)                         # libtomlplusplus-dev: a compiled library in Debian
find_package(nlohmann_json REQUIRED)                        # nlohmann-json3-dev
find_package(CLI11 REQUIRED)                                # libcli11-dev

if(HALFSPLIT_TESTS)
  find_package(GTest REQUIRED)                              # libgtest-dev
  find_package(Python3 REQUIRED COMPONENTS Interpreter)     # python3
endif()
if(HALFSPLIT_TESTS OR HALFSPLIT_BENCH)
  find_library(HALFSPLIT_NGSPICE ngspice)                   # libngspice0-dev: the outside twin of our solver, tests only
endif()
if(HALFSPLIT_TESTS)
  halfsplit_import(halfsplit_pcap pcap pcap/pcap.h "")      # libpcap0.8-dev: the outside twin of our reader of packets, tests only
endif()
if(HALFSPLIT_BENCH)
  find_package(benchmark REQUIRED)                          # libbenchmark-dev
endif()
