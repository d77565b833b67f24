#pragma once
/// @file
/// Which parts of the rig are connected at a bring-up stage?

#include <vector>

#include "core/rig.hpp"
#include "netlists/situation.hpp"

namespace firstglow::netlists {

/// By part index: does the part belong to the circuit of this stage?
///
/// Some kinds always come at the same stage ("anchors"):
///   transformer  inlet, variac, series lamp, transformers, and capacitors, bleeders and
///                equalisers that lie on the mains side
///   rectifier    rectifiers of every kind with their heaters, and equalisers directly across one
///   filter       chokes, bleeders, equalisers, electrolytics, other capacitors of 0.25 uF or more
///   tubes_out    smaller capacitors (bypasses), loads drawn `always`, everything not named here
///                and vr tubes, which need no heater
///   heaters      heaters
///   key_up, key_down  loads and power tubes (before, their cathodes are cold)
/// Fuses, thermistors, step starts and plain or dropper resistors come at the first stage at which
/// they lie in a path between parts already there; a resistor to the chassis is a load, not a path,
/// and comes at tubes_out. (A surge resistor between winding and diode comes with the rectifier,
/// one between rectifier and capacitor with the filter, a screen dropper behind which only a bypass
/// sits with tubes_out.) A winding or rectifier with no way to the chassis gets its return: of the
/// fuses, chokes and plain or dropper resistors that join it to the chassis directly, the one of
/// lowest ohms.
///
/// The situation's `lifted` is not looked at here.
[[nodiscard]] std::vector<bool> stage_parts(const core::Rig& rig, Stage stage);

}  // namespace firstglow::netlists
