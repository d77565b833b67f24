#include "core/stack_split.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/error.hpp"

namespace firstglow::core {
namespace {

constexpr std::array kE24{10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30,
                          33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91};
constexpr double kLeastOhms = 1e3;
constexpr double kMostOhms = 100e6;
constexpr double kStyleShare = 0.8;

struct Style {
  double watts, volts;
};
constexpr std::array kStyles{Style{0.25, 250.0}, Style{0.5, 350.0}, Style{1.0, 500.0},
                             Style{2.0, 750.0},  Style{5.0, 750.0}, Style{10.0, 750.0},
                             Style{25.0, 750.0}, Style{50.0, 750.0}};

/// v_k = (I - i_k) R_k with I from the sum, sections that would go below 0 held at 0.
std::vector<double> shares(const std::vector<double>& ohms, const std::vector<double>& leak_a,
                           double total_v) {
  std::vector<bool> held(ohms.size(), false);
  std::vector<double> volts(ohms.size(), 0.0);
  for (std::size_t round = 0; round <= ohms.size(); ++round) {
    double sum_ohm = 0.0, sum_v = total_v;
    for (std::size_t k = 0; k < ohms.size(); ++k) {
      sum_ohm += held[k] ? 0.0 : ohms[k];
      sum_v += held[k] ? 0.0 : leak_a[k] * ohms[k];
    }
    const double current_a = sum_v / sum_ohm;
    bool below = false;
    for (std::size_t k = 0; k < ohms.size(); ++k) {
      volts[k] = held[k] ? 0.0 : (current_a - leak_a[k]) * ohms[k];
      if (volts[k] < 0.0) {
        held[k] = true;
        below = true;
      }
    }
    if (!below) {
      break;
    }
  }
  return volts;
}

bool all_have_equalisers(const std::vector<StackSection>& sections) {
  return std::all_of(sections.begin(), sections.end(), [](const StackSection& section) {
    return section.equaliser_low && section.equaliser_high;
  });
}

Ohms e24_step(Ohms value, bool up) {
  const double decade = std::pow(10.0, std::floor(std::log10(value.si()) + 1e-12) - 1.0);
  const double mantissa = value.si() / decade;
  if (up) {
    for (const int step : kE24) {
      if (step >= mantissa - 1e-9) {
        return Ohms(step * decade);
      }
    }
    return Ohms(100.0 * decade);
  }
  for (std::size_t k = kE24.size(); k-- > 0;) {
    if (kE24.at(k) <= mantissa + 1e-9) {
      return Ohms(kE24.at(k) * decade);
    }
  }
  return Ohms(9.1 * decade);
}

}  // namespace

Volts fast_share(const std::vector<StackSection>& sections, std::size_t at, Volts total) {
  FIRSTGLOW_REQUIRE(at < sections.size(), "the section is in the stack");
  double sum = 0.0;
  for (std::size_t k = 0; k < sections.size(); ++k) {
    sum += 1.0 / (k == at ? sections[k].low : sections[k].high).si();
  }
  return total * (1.0 / sections[at].low.si() / sum);
}

std::optional<Volts> slow_share(const std::vector<StackSection>& sections, std::size_t at,
                                Volts total) {
  FIRSTGLOW_REQUIRE(at < sections.size(), "the section is in the stack");
  if (!all_have_equalisers(sections)) {
    return std::nullopt;
  }
  std::vector<double> ohms, leak_a;
  for (std::size_t k = 0; k < sections.size(); ++k) {
    ohms.push_back((k == at ? *sections[k].equaliser_high : *sections[k].equaliser_low).si());
    leak_a.push_back(k == at ? 0.0 : sections[k].leakage.si());
  }
  return Volts(shares(ohms, leak_a, total.si())[at]);
}

std::optional<std::vector<Volts>> settled_shares(const std::vector<StackSection>& sections,
                                                 Volts total) {
  if (!all_have_equalisers(sections)) {
    return std::nullopt;
  }
  std::vector<double> ohms, leak_a;
  for (const StackSection& section : sections) {
    ohms.push_back(section.equaliser_high->si());
    leak_a.push_back(section.leakage.si());
  }
  std::vector<Volts> volts;
  for (const double each_v : shares(ohms, leak_a, total.si())) {
    volts.emplace_back(each_v);
  }
  return volts;
}

std::optional<Ohms> largest_equaliser(const std::vector<StackSection>& sections, Volts total,
                                      Volts allowed, double tolerance) {
  const auto keeps = [&](double ohm) {
    std::vector<StackSection> fitted = sections;
    for (StackSection& section : fitted) {
      section.equaliser_low = Ohms(ohm * (1.0 - tolerance));
      section.equaliser_high = Ohms(ohm * (1.0 + tolerance));
    }
    for (std::size_t k = 0; k < fitted.size(); ++k) {
      if (*slow_share(fitted, k, total) > allowed) {
        return false;
      }
    }
    return true;
  };
  if (!keeps(kLeastOhms)) {
    return std::nullopt;
  }
  double low = std::log(kLeastOhms), high = std::log(kMostOhms);
  if (keeps(kMostOhms)) {
    return Ohms(kMostOhms);
  }
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    (keeps(std::exp(middle)) ? low : high) = middle;
  }
  return Ohms(std::exp(low));
}

Ohms e24_below(Ohms value) { return e24_step(value, false); }

Ohms e24_above(Ohms value) { return e24_step(value, true); }

EqualiserDuty equaliser_duty(Ohms value, Volts volts) {
  FIRSTGLOW_REQUIRE(value > Ohms() && volts > Volts(), "an equaliser has ohms and volts");
  EqualiserDuty duty;
  for (duty.in_series = 1;; ++duty.in_series) {
    const double count = duty.in_series;
    duty.each = value / count;
    duty.each_volts = volts / count;
    duty.each_watts = Watts(duty.each_volts.si() * duty.each_volts.si() / duty.each.si());
    const auto style = std::find_if(kStyles.begin(), kStyles.end(), [&](const Style& s) {
      return s.watts >= 2.0 * duty.each_watts.si();
    });
    const Style& chosen = style == kStyles.end() ? kStyles.back() : *style;
    duty.each_rated = Watts(std::max(chosen.watts, 0.5));
    duty.style_volts = Volts(std::max(chosen.volts, 350.0));
    if (duty.each_volts.si() <= kStyleShare * duty.style_volts.si()) {
      return duty;
    }
  }
}

}  // namespace firstglow::core
