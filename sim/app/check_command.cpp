#include <memory>

#include "sim/app/answer.hpp"
#include "sim/report/check_report.hpp"

namespace firstglow::sim {

void add_check_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<AnswerOptions>();
  CLI::App* command = app.add_subcommand("check", "what was understood, ohms to expect, gaps");
  add_answer_options(*command, *options);
  command->callback([options, &chosen] {
    chosen = [options] {
      return deliver(*options, [&options](const core::Rig& rig) {
        const CheckResult result = check_rig(rig);
        return Answer{
            options->json ? check_json(rig, result) : check_text(rig, result, page_style()),
            {},
            std::nullopt};
      });
    };
  });
}

}  // namespace firstglow::sim
