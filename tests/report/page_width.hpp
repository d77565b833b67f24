#pragma once
/// @file
/// What must hold of every page that is printed?

#include <gtest/gtest.h>

#include <sstream>
#include <string>

#include "sim/report/shown_text.hpp"

namespace firstglow::test {

/// No control character but the line break, and none that hides in UTF-8.
inline void expect_harmless(const std::string& page) {
  for (const char c : page) {
    const auto byte = static_cast<unsigned char>(c);
    ASSERT_TRUE(c == '\n' || (byte >= 0x20 && byte != 0x7F)) << "byte " << int{byte};
  }
  EXPECT_EQ(page.find("\xc2\x9b"), std::string::npos);
  EXPECT_EQ(page.find("\xe2\x80\xae"), std::string::npos);
}

/// 80 columns, no blank at a line's end, never two empty lines.
inline void expect_within_page(const std::string& page) {
  std::istringstream lines(page);
  std::string before = "x";
  for (std::string line; std::getline(lines, line);) {
    EXPECT_LE(sim::columns_of(line), 80) << line;
    EXPECT_TRUE(line.empty() || line.back() != ' ') << line << "<";
    EXPECT_FALSE(line.empty() && before.empty());
    before = line;
  }
}

}  // namespace firstglow::test
