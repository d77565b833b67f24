#include "sim/studies/sheet_answers.hpp"

#include <algorithm>
#include <deque>
#include <future>
#include <mutex>
#include <vector>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

template <class Result, class Run>
void answer(Answered<Result>& answered, const Run& run) {
  try {
    answered.result = run();
  } catch (const core::SimulationError& error) {
    answered.failure = error.what();
  }
}

/// What several studies at once have done and planned, as one.
class JointProgress {
 public:
  explicit JointProgress(const Progress& whole) : whole_(whole) {}

  /// For one study.
  Progress share() {
    if (!whole_) {
      return {};
    }
    const std::scoped_lock adding(mutex_);
    Count& mine = counts_.emplace_back();
    return [this, &mine](int done, int planned) {
      const std::scoped_lock lock(mutex_);
      mine = {done, planned};
      Count sum;
      for (const Count& count : counts_) {
        sum.done += count.done;
        sum.planned += count.planned;
      }
      whole_(sum.done, sum.planned);
    };
  }

 private:
  struct Count {
    int done = 0, planned = 0;
  };
  const Progress& whole_;
  std::mutex mutex_;
  std::deque<Count> counts_;  ///< stay where they are when more come
};

template <class Options>
Options with_progress(const Progress& progress) {
  Options options;
  options.progress = progress;
  return options;
}

template <class Result>
void collect(const Answered<Result>& answered, std::vector<core::Finding>& findings) {
  if (answered.result) {
    findings.insert(findings.end(), answered.result->findings.begin(),
                    answered.result->findings.end());
  }
}

}  // namespace

SheetAnswers sheet_answers(const core::Rig& rig, const Progress& progress, WorkerPool& pool) {
  SheetAnswers answers;
  JointProgress joint(progress);
  answers.check = check_rig(rig);
  answers.reform = reform_on_bench(rig, {});
  // all at once: where one has a single run to wait for, the workers have those of the others
  std::vector<std::future<void>> studies;
  const auto begin = [&studies](auto study) {
    studies.push_back(std::async(std::launch::async, std::move(study)));
  };
  begin([&, share = joint.share()] {
    answer(answers.rampup, [&] { return rampup(rig, with_progress<RampupOptions>(share), pool); });
  });
  begin([&, share = joint.share()] {
    answer(answers.margins,
           [&] { return margins(rig, with_progress<MarginsOptions>(share), pool); });
  });
  begin([&, share = joint.share()] {
    answer(answers.bleed, [&] { return bleed(rig, with_progress<BleedOptions>(share), pool); });
    if (answers.bleed.result) {
      answer(answers.stick, [&] { return stick(rig, StickOptions{}, *answers.bleed.result); });
    } else {
      answers.stick.failure = answers.bleed.failure;
    }
  });
  begin([&, share = joint.share()] {
    answer(answers.inrush, [&] { return inrush(rig, with_progress<InrushOptions>(share), pool); });
  });
  begin([&, share = joint.share()] {
    answer(answers.stacks, [&] { return stacks(rig, with_progress<StacksOptions>(share), pool); });
  });
  begin([&] { answer(answers.scope, [&] { return scope(rig, pool); }); });
  std::for_each(studies.begin(), studies.end(), [](std::future<void>& study) { study.wait(); });
  std::for_each(studies.begin(), studies.end(), [](std::future<void>& study) { study.get(); });
  return answers;
}

std::vector<core::Finding> sheet_findings(const SheetAnswers& answers) {
  std::vector<core::Finding> findings;
  collect(answers.rampup, findings);
  collect(answers.margins, findings);
  collect(answers.bleed, findings);
  collect(answers.stick, findings);
  collect(answers.inrush, findings);
  collect(answers.stacks, findings);
  return findings;
}

}  // namespace firstglow::sim
