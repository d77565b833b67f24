#include <memory>

#include "core/record_change.hpp"
#include "core/rig_reader.hpp"
#include "core/stock_list.hpp"
#include "sim/app/answer.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/report/drawer_report.hpp"

namespace firstglow::sim {
namespace {

struct DrawerCommand {
  AnswerOptions answer;
  std::string part, stock_file, hole;
  int angles = 4;
};

Answer run(const DrawerCommand& command, const core::Rig& rig) {
  if (rig.find(command.part) == nullptr) {
    throw UsageError("'" + command.part + "' is no part of this rig; check lists them");
  }
  DrawerOptions study;
  study.closing_angles = command.angles;
  if (!command.hole.empty()) {
    study.hole = core::read_body_size(command.hole);
    if (!study.hole) {
      throw UsageError("--hole '" + command.hole +
                       "' is no size; write diameter x length or three edges, e.g. 25x40mm");
    }
  }
  const std::vector<core::StockPart> stock = core::read_stock_file(command.stock_file);
  const core::RecordNode record = core::read_record_file(command.answer.rig_file);
  study.with_part = [&](const core::StockPart& part) {
    core::RecordNode changed = record;
    core::fit_stock_part(changed, command.part, part, command.answer.rig_file);
    return core::read_rig_record(changed, command.answer.rig_file);
  };
  return answer_study<DrawerOptions, DrawerResult>(
      command.answer, rig, study,
      [&](const DrawerOptions& options, WorkerPool& pool) {
        return drawer(rig, command.part, stock, options, pool);
      },
      {drawer_verdict, drawer_text, drawer_json, drawer_csv});
}

}  // namespace

void add_drawer_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<DrawerCommand>();
  CLI::App* command = app.add_subcommand("drawer", "which part of a stock list may stand in");
  add_study_options(*command, options->answer);
  command->add_option("PART", options->part, "designator of the part to be replaced")->required();
  command->add_option("STOCK", options->stock_file, "stock list, CSV (docs/stock.md)")->required();
  command->add_option("--hole", options->hole,
                      "room left by the old part, diameter x length or three edges, e.g. 35x50mm");
  add_angles_option(*command, options->angles);
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
