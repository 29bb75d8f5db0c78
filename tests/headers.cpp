// SPDX-License-Identifier: Apache-2.0
// Empty: stands for the headers that every test includes, compiled once for all test programs (cmake/room.cmake).
