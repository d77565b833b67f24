#include <memory>

#include "core/rig_reader.hpp"
#include "sim/app/commands.hpp"
#include "sim/app/exit_codes.hpp"
#include "sim/app/output_file.hpp"

namespace firstglow::sim {

void add_schema_command(CLI::App& app, ChosenCommand& chosen) {
  CLI::App* command = app.add_subcommand("schema", "JSON Schema of the record file, for editors");
  auto json = std::make_shared<bool>(false);
  command->add_flag("--json", *json, "accepted for uniformity: the schema is JSON in any case");
  command->callback([json, &chosen] {
    chosen = [] {
      std::string schema = core::record_schema_json();
      if (schema.empty() || schema.back() != '\n') {
        schema += '\n';
      }
      write_standard_output(schema);
      return kNothingUnsafe;
    };
  });
}

}  // namespace firstglow::sim
