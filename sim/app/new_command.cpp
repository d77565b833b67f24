#include <unistd.h>

#include <memory>

#include "core/nearest_word.hpp"
#include "core/record_template.hpp"
#include "sim/app/commands.hpp"
#include "sim/app/exit_codes.hpp"
#include "sim/app/output_file.hpp"
#include "sim/app/templates.hpp"
#include "sim/app/usage_error.hpp"

namespace firstglow::sim {
namespace {

constexpr const char* kHead =
    "# A form, filled in with the values of an invented rig: replace every value by what you read\n"
    "# off the part or measured, take out what you do not have, add what is missing.\n"
    "# A key you cannot fill in yet may be left out: answers that need it become \"no verdict\".\n";

std::vector<std::string> template_names() {
  std::vector<std::string> names;
  for (const RecordTemplate& each : record_templates()) {
    names.emplace_back(each.name);
  }
  return names;
}

std::string list_of_names() {
  std::string list;
  for (const std::string& name : template_names()) {
    list += (list.empty() ? "" : ", ") + name;
  }
  return list;
}

std::string text_of_template(const std::string& name) {
  for (const RecordTemplate& each : record_templates()) {
    if (each.name == name) {
      return kHead + core::with_explained_keys(each.record);
    }
  }
  const std::string near = core::nearest_word(name, template_names());
  throw UsageError(
      "'" + name + "' is no kind of supply; " +
      (near.empty() ? "expected one of " + list_of_names() : "did you mean '" + near + "'?"));
}

/// Never over a file that is there: it may hold somebody's measurements.
void require_new(const std::string& path) {
  if (access(path.c_str(), F_OK) == 0) {
    throw UsageError("'" + path + "' is there already; choose another name or move it away");
  }
}

}  // namespace

void add_new_command(CLI::App& app, ChosenCommand& chosen) {
  CLI::App* command = app.add_subcommand("new", "a record to fill in, for one kind of supply");
  struct Options {
    std::string kind, file;
  };
  auto options = std::make_shared<Options>();
  command->add_option("KIND", options->kind, "one of: " + list_of_names())->required();
  command->add_option("FILE", options->file, "record file to be written; must not be there yet")
      ->required();
  command->callback([options, &chosen] {
    chosen = [options] {
      const std::string text = text_of_template(options->kind);
      require_new(options->file);
      OutputFile file(options->file, "");
      file.commit(text);
      return kNothingUnsafe;
    };
  });
}

}  // namespace firstglow::sim
