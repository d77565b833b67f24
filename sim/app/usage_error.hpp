#pragma once
/// @file
/// What is wrong with the command line, beyond what its parser sees?

#include "core/error.hpp"

namespace firstglow::sim {

/// The command line, or the place it wants output in, must be changed. Exit code 2.
class UsageError : public core::Error {
 public:
  using Error::Error;
};

}  // namespace firstglow::sim
