# SPDX-License-Identifier: Apache-2.0
# What no single room can test: tests/<subject>/*.test.cpp (linked with every room), cases/<operation>/*.case (text in,
# command, text out), and the self-tests of our own tools.
if(NOT HALFSPLIT_TESTS)
  return()
endif()

# Leaks inside libraries of others are listed in tests/leaks.txt; ours are never put there.
set(halfsplit_environment "LSAN_OPTIONS=suppressions=${CMAKE_SOURCE_DIR}/tests/leaks.txt:print_suppressions=0")

add_library(halfsplit_every_room INTERFACE)
get_property(rooms GLOBAL PROPERTY HALFSPLIT_ROOMS)
halfsplit_use(halfsplit_every_room INTERFACE ${rooms})
if(HALFSPLIT_NGSPICE)
  target_link_libraries(halfsplit_every_room INTERFACE ${HALFSPLIT_NGSPICE})
  target_compile_definitions(halfsplit_every_room INTERFACE HALFSPLIT_HAS_NGSPICE=1)
endif()
file(GLOB subjects CONFIGURE_DEPENDS LIST_DIRECTORIES true ${CMAKE_SOURCE_DIR}/tests/*)
foreach(subject IN LISTS subjects)
  file(GLOB tests CONFIGURE_DEPENDS ${subject}/*.test.cpp)
  get_filename_component(name ${subject} NAME)
  if(tests)
    halfsplit_test_program(${name} halfsplit_every_room ${tests})
    set_tests_properties(${name} PROPERTIES ENVIRONMENT "${halfsplit_environment}")
  endif()
endforeach()

# One entry per folder of cases/, so that they run side by side and a failure names the operation.
file(GLOB operations CONFIGURE_DEPENDS LIST_DIRECTORIES true ${CMAKE_SOURCE_DIR}/cases/*)
set(halfsplit_cases ${Python3_EXECUTABLE} ${CMAKE_SOURCE_DIR}/tools/cases.py --binary ${CMAKE_BINARY_DIR}/halfsplit)
foreach(operation IN LISTS operations)
  file(GLOB cases CONFIGURE_DEPENDS ${operation}/*.case)
  if(cases)
    get_filename_component(name ${operation} NAME)
    add_test(NAME cases_${name} COMMAND ${halfsplit_cases} ${operation})
    set_tests_properties(cases_${name} PROPERTIES LABELS cases TIMEOUT 600)
  endif()
endforeach()

file(GLOB tool_tests CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/tools/*_test.py)
foreach(tool_test IN LISTS tool_tests)
  get_filename_component(name ${tool_test} NAME_WE)
  add_test(NAME tools_${name} COMMAND ${Python3_EXECUTABLE} ${tool_test})
  set_tests_properties(tools_${name} PROPERTIES LABELS tools TIMEOUT 120)
endforeach()
