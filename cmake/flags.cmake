# SPDX-License-Identifier: Apache-2.0
# What every compile line has. Optimisation and sanitizers come from the preset (CMakePresets.json).
set(CMAKE_CXX_STANDARD 20)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)
set(CMAKE_VERIFY_INTERFACE_HEADER_SETS ON)

if(NOT CMAKE_BUILD_TYPE)
  set(CMAKE_BUILD_TYPE Release CACHE STRING "" FORCE)
endif()

# -ffp-contract=off: a sum may not depend on whether the machine has fused multiply-add.
add_compile_options(-Wall -Wextra -Wpedantic -ffp-contract=off)
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  # g++ 12 warns wrongly about std::string operator+ when optimising (GCC bug 105651; from memory).
  add_compile_options(-Wno-restrict)
endif()
if(HALFSPLIT_WERROR)
  add_compile_options(-Werror)
endif()
if(HALFSPLIT_FUZZ)
  add_compile_options(-fsanitize=fuzzer-no-link)
endif()

# In CI four of UBSan's checks are left out, which are a quarter of the time to build: the address sanitizer sees a null
# pointer followed and an object too small as well; what lies askew, and a virtual call on a stray object, only
# ./dev test asan tells.
option(HALFSPLIT_SANITIZE_LESS "Leave out UBSan's checks of every pointer" OFF)
if(HALFSPLIT_SANITIZE_LESS)
  add_compile_options(-fno-sanitize=null,alignment,vptr,object-size)
endif()

# A hundred programs are linked for the tests; gold, which comes with Debian's binutils, takes half the time of ld.
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  include(CheckLinkerFlag)
  check_linker_flag(CXX -fuse-ld=gold HALFSPLIT_GOLD)
  if(HALFSPLIT_GOLD)
    add_link_options(-fuse-ld=gold)
  endif()
endif()

find_program(HALFSPLIT_CCACHE ccache)
if(HALFSPLIT_CCACHE)
  set(CMAKE_CXX_COMPILER_LAUNCHER ${HALFSPLIT_CCACHE})
endif()
