#pragma once
/// @file
/// How many jobs of a study are done?

#include <cstddef>
#include <mutex>

#include "sim/studies/study.hpp"

namespace firstglow::sim {

/// Counts finished jobs for the caller's progress display.
class JobCounter {
 public:
  JobCounter(const Progress& progress, std::size_t total)
      : progress_(progress), total_(static_cast<int>(total)) {}
  void one_done() {
    const std::scoped_lock lock(mutex_);
    ++done_;
    if (progress_) {
      progress_(done_, total_);
    }
  }

 private:
  const Progress& progress_;
  int total_;
  int done_ = 0;
  std::mutex mutex_;
};

}  // namespace firstglow::sim
