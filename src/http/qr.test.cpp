// SPDX-License-Identifier: Apache-2.0
#include "http/qr.h"

#include <gtest/gtest.h>

#include "http/addresses.h"
#include "http/answer.h"
#include "http/page.h"

namespace halfsplit::http {
namespace {

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t times = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++times;
  return times;
}

TEST(Qr, TextAndPictureShowTheSameModules) {
  const std::string address = "http://192.168.1.20:8471/pair?secret=0123456789abcdef0123456789abcdef";
  const std::string text = qr_text(address, true);  // dark modules drawn
  const std::size_t dark = 2 * count(text, "\u2588") + count(text, "\u2580") + count(text, "\u2584");
  EXPECT_EQ(dark, count(qr_svg(address), "h1v1h-1z"));
  // Three finder patterns of 33 dark modules each stand in every code (ISO/IEC 18004).
  EXPECT_GT(dark, 99U);
  EXPECT_EQ(text.substr(0, text.find('\n')).find_first_not_of(' '), std::string::npos) << "quiet zone";
}

TEST(Qr, WhatDoesNotFitIsEmpty) { EXPECT_EQ(qr_text(std::string(5000, 'x')), ""); }

TEST(Addresses, AsTheyStandInHost) {
  EXPECT_EQ(host_of({"127.0.0.1", false, true}, 8471), "127.0.0.1:8471");
  EXPECT_EQ(host_of({"::1", true, true}, 80), "[::1]:80");
  EXPECT_TRUE(is_loopback("127.1.2.3"));
  EXPECT_FALSE(is_loopback("12.7.0.1"));
}

TEST(Answers, TextCannotBecomeMarkup) {
  EXPECT_EQ(escape_html("<a href='x'>&\""), "&lt;a href=&#39;x&#39;&gt;&amp;&quot;");
  EXPECT_EQ(quote_json("a\"\n\xff"), "\"a\\\"\\n\xEF\xBF\xBD\"");
  EXPECT_EQ(media_type("a/b.js"), "text/javascript; charset=utf-8");
}

}  // namespace
}  // namespace halfsplit::http
