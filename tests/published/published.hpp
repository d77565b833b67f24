#pragma once
/// @file
/// Does a figure agree with the one printed, or worked out, outside this program?

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <sstream>

namespace firstglow::published {

/// A figure, how far off a result may be, and where the figure comes from. The larger of the two
/// tolerances counts: absolute for half the last printed digit, relative for a source's own
/// percent.
struct Published {
  double value = 0.0;
  double relative = 0.0;
  double absolute = 0.0;
  const char* source = "";  ///< "[KEY] place", or "by hand: ..."
};

[[nodiscard]] inline double allowed_deviation(const Published& reference) {
  return std::max(reference.relative * std::abs(reference.value), reference.absolute);
}

/// Success when |actual - value| is within the tolerance; says the source when it is not.
[[nodiscard]] inline ::testing::AssertionResult agrees(double actual, const Published& reference) {
  const double allowed = allowed_deviation(reference);
  const double found = std::abs(actual - reference.value);
  if (std::isfinite(actual) && found <= allowed) {
    return ::testing::AssertionSuccess();
  }
  std::ostringstream text;
  text.precision(9);
  text << actual << " is off " << reference.value << " by " << found << " ("
       << 100.0 * found / std::abs(reference.value) << " %), allowed " << allowed
       << "; source: " << reference.source;
  return ::testing::AssertionFailure() << text.str();
}

}  // namespace firstglow::published
