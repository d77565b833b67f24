#include "sim/studies/survey_outcome.hpp"

#include <algorithm>

#include "sim/studies/situation_words.hpp"

namespace firstglow::sim {

std::vector<std::vector<Stress>> stresses_in(const std::vector<SurveyOutcome>& outcomes) {
  std::vector<std::vector<Stress>> all;
  all.reserve(outcomes.size());
  for (const SurveyOutcome& outcome : outcomes) {
    all.push_back(outcome.failure.empty() ? outcome.stresses : std::vector<Stress>{});
  }
  return all;
}

int OutcomeMirror::index_of(const std::string& designator) const {
  return static_cast<int>(rig_.find(designator) - rig_.parts.data());
}

std::vector<std::string> OutcomeMirror::own_parts(std::vector<std::string> parts) const {
  std::erase_if(parts, [&](const std::string& name) { return stacks_.is_copy(index_of(name)); });
  return parts;
}

SurveyOutcome OutcomeMirror::mirrored(SurveyOutcome outcome, const StackMirror::Swap& swap) const {
  outcome.stresses = StackMirror::swapped(std::move(outcome.stresses), swap);
  outcome.situation = stacks_.swapped(std::move(outcome.situation), swap);
  outcome.words = outcome.transient ? switch_on_words(rig_, outcome.situation)
                                    : steady_words(rig_, outcome.situation);
  return outcome;
}

std::vector<SurveyOutcome> OutcomeMirror::with_copies(const std::vector<std::string>& parts,
                                                      const std::vector<SurveyOutcome>& own) const {
  const std::vector<std::string> run = own_parts(parts);
  std::vector<SurveyOutcome> all{own.front()};
  for (const std::string& name : parts) {
    const StackMirror::Swap* swap = stacks_.swap_of(index_of(name));
    const int model = swap == nullptr ? index_of(name) : swap->at(index_of(name));
    const std::string& model_name = rig_.parts[static_cast<std::size_t>(model)].designator;
    const auto place =
        static_cast<std::size_t>(std::find(run.begin(), run.end(), model_name) - run.begin());
    for (const std::size_t i : {2 * place + 1, 2 * place + 2}) {
      all.push_back(swap == nullptr ? own.at(i) : mirrored(own.at(i), *swap));
    }
  }
  return all;
}

}  // namespace firstglow::sim
