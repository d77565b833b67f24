#include "core/fuse_law.hpp"

#include <algorithm>
#include <cmath>

namespace firstglow::core {
namespace {

using Gates = std::vector<FuseGate>;

constexpr Seconds kHour{3600.0};
constexpr Amps kSmallIec{0.1};  ///< up to here IEC 60127-2 prints gates of their own
constexpr Amps kSmallUl{3.0};   ///< up to here UL 248-14 prints a lower earliest time

Gates iec_fast(bool small) {
  return {{1.5, kHour, {}},
          {2.1, {}, Seconds(1800.0)},
          {2.75, Seconds(small ? 0.010 : 0.050), Seconds(small ? 0.5 : 2.0)},
          {4.0, Seconds(small ? 0.003 : 0.010), Seconds(small ? 0.1 : 0.3)},
          {10.0, {}, Seconds(0.020)}};
}

Gates iec_slow(bool small) {
  return {{1.5, kHour, {}},
          {2.1, {}, Seconds(120.0)},
          {2.75, Seconds(small ? 0.2 : 0.6), Seconds(10.0)},
          {4.0, Seconds(small ? 0.040 : 0.150), Seconds(3.0)},
          {10.0, Seconds(small ? 0.010 : 0.020), Seconds(0.3)}};
}

Gates ul(bool slow, bool small) {
  Gates gates{{1.1, Seconds(4.0 * kHour.si()), {}}, {1.35, {}, kHour}, {2.0, {}, Seconds(120.0)}};
  if (slow) {
    gates.back().earliest = Seconds(small ? 5.0 : 12.0);
  }
  return gates;
}

/// Every class the marking leaves open.
std::vector<Gates> possible_gates(const Fuse& fuse) {
  std::vector<Gates> all;
  for (const FuseStandard standard : {FuseStandard::iec, FuseStandard::ul}) {
    for (const FuseSpeed speed : {FuseSpeed::fast, FuseSpeed::slow}) {
      if (fuse.standard.value_or(standard) == standard && fuse.speed.value_or(speed) == speed) {
        all.push_back(fuse_gates(standard, speed, fuse.rating));
      }
    }
  }
  return all;
}

OpeningWindow window_of(const Gates& gates, double multiple) {
  OpeningWindow window;
  for (const FuseGate& gate : gates) {
    if (gate.multiple >= multiple && gate.earliest) {
      window.earliest = std::max(window.earliest, *gate.earliest);
    }
    if (gate.multiple <= multiple && gate.latest) {
      window.latest = std::min(window.latest.value_or(*gate.latest), *gate.latest);
    }
  }
  return window;
}

}  // namespace

std::vector<FuseGate> fuse_gates(FuseStandard standard, FuseSpeed speed, Amps rating) {
  if (standard == FuseStandard::ul) {
    return ul(speed == FuseSpeed::slow, rating <= kSmallUl);
  }
  const bool small = rating <= kSmallIec;
  return speed == FuseSpeed::slow ? iec_slow(small) : iec_fast(small);
}

OpeningWindow opening_window(const Fuse& fuse, Amps current) {
  FIRSTGLOW_REQUIRE(current.is_finite() && current.si() >= 0.0, "a held current is 0 A or more");
  FIRSTGLOW_REQUIRE(fuse.rating.si() > 0.0, "a fuse has marked amps");
  std::optional<OpeningWindow> widest;
  for (const Gates& gates : possible_gates(fuse)) {
    const OpeningWindow window = window_of(gates, current / fuse.rating);
    if (!widest) {
      widest = window;
      continue;
    }
    widest->earliest = std::min(widest->earliest, window.earliest);
    if (widest->latest) {
      widest->latest =
          window.latest ? std::optional(std::max(*widest->latest, *window.latest)) : std::nullopt;
    }
  }
  return *widest;
}

Amps surely_opens_at(const Fuse& fuse) {
  double multiple = 0.0;
  for (const Gates& gates : possible_gates(fuse)) {
    const auto first = std::find_if(gates.begin(), gates.end(),
                                    [](const FuseGate& gate) { return gate.latest.has_value(); });
    multiple = std::max(multiple, first->multiple);
  }
  return fuse.rating * multiple;
}

std::optional<Seconds> FuseLaw::opens_after(Amps current) const {
  const double x = current / rating;
  if (x <= ratio) {
    return std::nullopt;
  }
  return time * std::log(x * x / (x * x - ratio * ratio));
}

AmpsSquaredSeconds FuseLaw::melting_i2t() const {
  return AmpsSquaredSeconds(time.si() * ratio * ratio * rating.si() * rating.si());
}

std::optional<FuseLaw> fuse_law(const Fuse& fuse) {
  if (!fuse.speed && !fuse.melting_i2t) {
    return std::nullopt;
  }
  const bool iec = fuse.standard == FuseStandard::iec;
  const bool slow = fuse.speed == FuseSpeed::slow;
  FuseLaw law;
  law.rating = fuse.rating;
  law.ratio = iec ? 1.8 : 1.2;
  if (fuse.melting_i2t) {
    const double melting_a = law.ratio * fuse.rating.si();
    law.time = Seconds(fuse.melting_i2t->si() / (melting_a * melting_a));
    law.time_assumed = false;
  } else if (iec) {
    law.time = Seconds(slow ? 5.0 : 0.3);
  } else {
    law.time = Seconds(slow ? 80.0 : 1.0);
  }
  return law;
}

}  // namespace firstglow::core
