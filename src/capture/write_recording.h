// SPDX-License-Identifier: Apache-2.0
// Frames as recordings that other programs read too: the log form of candump, and pcapng with link type SocketCAN
// (227). Text and bytes out; no files. Times below zero are written as zero.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "can/frame.h"

namespace halfsplit::capture {

// Appends a line for each frame: "(1600000000.123456) can0 18FEF100#0011". `channels`: names by Frame::channel; a
// channel without a name is called canN.
void append_candump(std::string& text, std::span<const can::Frame> frames, const std::vector<std::string>& channels);

// The head of a pcapng file: its section and one interface for each channel, times in microseconds.
void append_pcapng_head(std::string& bytes, const std::vector<std::string>& channels);
// Appends a packet for each frame; channels beyond those of the head go to the first.
void append_pcapng(std::string& bytes, std::span<const can::Frame> frames, const std::vector<std::string>& channels);

}  // namespace halfsplit::capture
