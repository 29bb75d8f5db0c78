# SPDX-License-Identifier: Apache-2.0
# What no single room can test: tests/<subject>/*.test.cpp (linked with every room), cases/<operation>/*.case (text in,
# command, text out), and the self-tests of our own tools. Likewise tests/<subject>/*.bench.cpp, one program
# bench_of_<subject> of the target `benches`, and tests/<subject>/x.main.cpp, a program x of its own.
if(NOT HALFSPLIT_TESTS AND NOT HALFSPLIT_BENCH)
  return()
endif()

# Leaks inside libraries of others are listed in tests/leaks.txt; ours are never put there.
set(halfsplit_environment "LSAN_OPTIONS=suppressions=${CMAKE_SOURCE_DIR}/tests/leaks.txt:print_suppressions=0")

# Their helpers, the other tests/<subject>/*.{h,cpp}, are one library for all: #include "tests/<subject>/x.h".
file(GLOB helpers CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/tests/*/*.cpp)
list(FILTER helpers EXCLUDE REGEX "\\.(test|bench|main)\\.cpp$")
add_library(halfsplit_test_helpers STATIC EXCLUDE_FROM_ALL ${helpers})
halfsplit_in_batches(halfsplit_test_helpers)
target_include_directories(halfsplit_test_helpers PUBLIC ${CMAKE_SOURCE_DIR})
get_property(rooms GLOBAL PROPERTY HALFSPLIT_ROOMS)
halfsplit_use(halfsplit_test_helpers PUBLIC ${rooms})
target_link_libraries(halfsplit_test_helpers PUBLIC nlohmann_json::nlohmann_json)
if(HALFSPLIT_NGSPICE)
  target_link_libraries(halfsplit_test_helpers PUBLIC ${HALFSPLIT_NGSPICE})
  target_compile_definitions(halfsplit_test_helpers PUBLIC HALFSPLIT_HAS_NGSPICE=1)
endif()
file(GLOB subjects CONFIGURE_DEPENDS LIST_DIRECTORIES true ${CMAKE_SOURCE_DIR}/tests/*)
foreach(subject IN LISTS subjects)
  get_filename_component(name ${subject} NAME)
  file(GLOB tests CONFIGURE_DEPENDS ${subject}/*.test.cpp)
  if(tests AND HALFSPLIT_TESTS)
    halfsplit_test_program(${name} halfsplit_test_helpers ${tests})
    set_tests_properties(${name} PROPERTIES ENVIRONMENT "${halfsplit_environment}" TIMEOUT 900)
  endif()
  file(GLOB benches CONFIGURE_DEPENDS ${subject}/*.bench.cpp)
  if(benches AND HALFSPLIT_BENCH)
    add_executable(bench_of_${name} EXCLUDE_FROM_ALL ${benches})
    target_link_libraries(bench_of_${name} PRIVATE halfsplit_test_helpers benchmark::benchmark_main)
    halfsplit_take_memory(bench_of_${name})  # as the program does
    add_dependencies(benches bench_of_${name})
  endif()
  file(GLOB mains CONFIGURE_DEPENDS ${subject}/*.main.cpp)
  foreach(main IN LISTS mains)
    get_filename_component(program ${main} NAME)
    string(REPLACE ".main.cpp" "" program ${program})
    add_executable(${program} ${main})
    target_link_libraries(${program} PRIVATE halfsplit_test_helpers)
    add_dependencies(benches ${program})
  endforeach()
endforeach()
add_dependencies(benches halfsplit)  # tests/<subject>/*.bench.py run it
if(NOT HALFSPLIT_TESTS)
  return()
endif()

target_link_libraries(test_captures PRIVATE halfsplit_pcap)  # the outside twin of our reader of packet files

# What takes minutes runs only when asked for: ./dev test -C slow -L slow
function(halfsplit_slow_test name program filter)
  add_test(NAME ${name} CONFIGURATIONS slow COMMAND ${program} --gtest_filter=${filter}
           WORKING_DIRECTORY ${CMAKE_SOURCE_DIR})
  set_tests_properties(${name} PROPERTIES LABELS slow TIMEOUT 7200 ENVIRONMENT "${halfsplit_environment};${ARGN}")
endfunction()
halfsplit_slow_test(oracle_slow test_oracle Readings.* HALFSPLIT_ORACLE_LOOMS=2400 HALFSPLIT_ORACLE_SEED=1001)
halfsplit_slow_test(bus_twin_slow test_bus_twin BusTwin.* HALFSPLIT_BUS_TWIN_TIMES=12)
halfsplit_slow_test(buses_slow test_oracle Bus*Oracle*:BusEdges* HALFSPLIT_BUSES=6000 HALFSPLIT_BUS_SEED=1001 HALFSPLIT_EDGES=600)
halfsplit_slow_test(planning_slow test_planning PlanQuality.* HALFSPLIT_PLANS_ALL=1)
halfsplit_slow_test(two_paths_slow test_line *TwoPaths* HALFSPLIT_TWO_PATHS_ALL=1)

# One entry per folder of cases/, so that they run side by side and a failure names the operation.
file(GLOB operations CONFIGURE_DEPENDS LIST_DIRECTORIES true ${CMAKE_SOURCE_DIR}/cases/*)
set(halfsplit_cases ${Python3_EXECUTABLE} ${CMAKE_SOURCE_DIR}/tools/cases.py --binary ${CMAKE_BINARY_DIR}/halfsplit)
function(halfsplit_case_test name label)
  add_test(NAME ${name} COMMAND ${halfsplit_cases} ${ARGN})
  set_tests_properties(${name} PROPERTIES LABELS ${label} TIMEOUT 600)
endfunction()
foreach(operation IN LISTS operations)
  get_filename_component(name ${operation} NAME)
  file(GLOB cases CONFIGURE_DEPENDS ${operation}/*.case)
  file(GLOB slow CONFIGURE_DEPENDS ${operation}/*.slow.case)
  if(slow)
    list(REMOVE_ITEM cases ${slow})
    halfsplit_case_test(cases_${name}_slow slow ${slow})
  endif()
  if(cases)
    halfsplit_case_test(cases_${name} cases ${operation})
  endif()
endforeach()

file(GLOB tool_tests CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/tools/*_test.py)
foreach(tool_test IN LISTS tool_tests)
  get_filename_component(name ${tool_test} NAME_WE)
  add_test(NAME tools_${name} COMMAND ${Python3_EXECUTABLE} ${tool_test})
  set_tests_properties(tools_${name} PROPERTIES LABELS tools TIMEOUT 120)
endforeach()

# The book of jobs and kill -9; a thousand: tests/crash/killed_book.py PROGRAM LOOM 1000
add_test(NAME crash_book COMMAND ${Python3_EXECUTABLE} ${CMAKE_SOURCE_DIR}/tests/crash/killed_book.py
         ${CMAKE_BINARY_DIR}/halfsplit ${CMAKE_SOURCE_DIR}/examples/gritter/gritter.loom.toml 100)
# Several writers of one job file; a disk that is full under the book, skipped where no disk of its own may be mounted.
foreach(subject same_job full_disk)
  add_test(NAME crash_${subject} COMMAND ${Python3_EXECUTABLE} ${CMAKE_SOURCE_DIR}/tests/crash/${subject}.py
           ${CMAKE_BINARY_DIR}/halfsplit ${CMAKE_SOURCE_DIR}/examples/gritter/gritter.loom.toml)
endforeach()
set_tests_properties(crash_book crash_same_job crash_full_disk PROPERTIES LABELS crash TIMEOUT 300 SKIP_RETURN_CODE 77)

# docs/formats/loom.md, job.md and replies.md against the program, by a second one written from the pages alone (tests/page/run.sh).
foreach(part readings spice rows jobs)
  add_test(NAME page_${part} COMMAND ${CMAKE_SOURCE_DIR}/tests/page/run.sh ${CMAKE_BINARY_DIR}/halfsplit 1 45 ${part})
  set_tests_properties(page_${part} PROPERTIES LABELS page TIMEOUT 600 ENVIRONMENT "PYTHON=${Python3_EXECUTABLE}")
endforeach()

# The page's door: as the command line's, and against those who knock at it.
add_test(NAME doors COMMAND ${Python3_EXECUTABLE} ${CMAKE_SOURCE_DIR}/tests/doors/doors.py ${CMAKE_BINARY_DIR}/halfsplit)
add_test(NAME hostile COMMAND ${Python3_EXECUTABLE} ${CMAKE_SOURCE_DIR}/tests/hostile/hostile.py ${CMAKE_BINARY_DIR}/halfsplit)
set_tests_properties(doors hostile PROPERTIES LABELS http TIMEOUT 300 ENVIRONMENT "PYTHONDONTWRITEBYTECODE=1;${halfsplit_environment}")

# The page in a browser (web/test); skipped, aloud, without Node, its packages or Chromium. All of it: -C slow -R web_long
add_test(NAME web COMMAND ${CMAKE_SOURCE_DIR}/tests/web/run.sh ${CMAKE_BINARY_DIR}/halfsplit)
add_test(NAME web_long CONFIGURATIONS slow
         COMMAND ${CMAKE_SOURCE_DIR}/tests/web/run.sh ${CMAKE_BINARY_DIR}/halfsplit long)
set_tests_properties(web PROPERTIES LABELS web TIMEOUT 300 SKIP_RETURN_CODE 77)
set_tests_properties(web_long PROPERTIES LABELS "web;slow" TIMEOUT 3600 SKIP_RETURN_CODE 77)

# The longest first, so that no core waits for one of them at the end (seconds, about).
foreach(long IN ITEMS line=150 oracle=150 page_rows=100 page_readings=80 page_spice=35 cases_rehearse=35 cases_saw=30 fuzz_whole_job=25 cases_bad-input=140 crash_book=20
             doors=25 hostile=25 web=45)
  string(REGEX MATCH "^([a-z_-]+)=([0-9]+)$" matched ${long})
  if(TEST ${CMAKE_MATCH_1})
    set_tests_properties(${CMAKE_MATCH_1} PROPERTIES COST ${CMAKE_MATCH_2})
  endif()
endforeach()
