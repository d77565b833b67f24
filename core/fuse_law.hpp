#pragma once
/// @file
/// How long does a fuse stand a current?

#include <vector>

#include "core/rig.hpp"

namespace firstglow::core {

/// At this multiple of the marked amps the standard lets the fuse open no earlier and no later.
struct FuseGate {
  double multiple = 0.0;
  std::optional<Seconds> earliest, latest;
};

/// Gates of one class, in order of the multiple. Source: IEC 60127-2 (quick-acting F; time-lag T)
/// [IEC-60127-2], UL 248-14 [UL-248-14]; how well each figure was read stands there.
[[nodiscard]] std::vector<FuseGate> fuse_gates(FuseStandard standard, FuseSpeed speed, Amps rating);

/// Times between which any fuse of the marking opens at a held current; an empty `latest` means
/// that the gates do not promise that it ever opens.
struct OpeningWindow {
  Seconds earliest;
  std::optional<Seconds> latest;
};

/// Model: a fuse opens no later at a higher current, so the gate below bounds the latest time and
/// the gate above the earliest. An unknown standard or speed gives the widest window of all that
/// it may be.
/// @param current  held, rms [A]; >= 0
[[nodiscard]] OpeningWindow opening_window(const Fuse& fuse, Amps current);

/// The least current at which every fuse of the marking opens in the end.
[[nodiscard]] Amps surely_opens_at(const Fuse& fuse);

/// A typical fuse of the marking: one wire, one time constant.
///
/// Model:  dh/dt = ((i / (ratio rating))^2 - h) / time,  opens at h = 1;
///
///     held current:  t = time ln(x^2 / (x^2 - ratio^2)),  x = i / rating > ratio,
///     short pulse:   I2t = time (ratio rating)^2.
///
/// `ratio`, the least multiple that melts it in the end, lies between the gates: 1.8 (IEC) or 1.2
/// (UL, or not known). `time` comes from the melting I2t where the record gives it, else it is one
/// that keeps to every gate: 0.3 s (IEC F), 5 s (IEC T), 1 s (UL fast), 80 s (UL slow).
/// Left out: arcing time, which lets more through than the melting I2t (unsafe side for what is
/// behind the fuse); heat that two-element slow fuses store in their spring and solder.
/// Source: first-order heating; tests hold it to the gates.
struct FuseLaw {
  double ratio = 0.0;
  Seconds time;
  bool time_assumed = true;
  Amps rating;

  [[nodiscard]] std::optional<Seconds> opens_after(Amps current) const;
  [[nodiscard]] AmpsSquaredSeconds melting_i2t() const;
};

/// Empty when neither speed nor melting I2t is known.
[[nodiscard]] std::optional<FuseLaw> fuse_law(const Fuse& fuse);

}  // namespace firstglow::core
