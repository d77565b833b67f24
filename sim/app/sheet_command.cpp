#include <fmt/chrono.h>
#include <fmt/format.h>

#include <cctype>
#include <ctime>
#include <filesystem>
#include <memory>
#include <system_error>

#include "core/rig_reader.hpp"
#include "sim/app/answer.hpp"
#include "sim/app/exit_codes.hpp"
#include "sim/app/output_file.hpp"
#include "sim/app/sheet_pdf.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/engine/cancel.hpp"
#include "sim/report/sheet/sheet.hpp"

namespace firstglow::sim {
namespace {

namespace fs = std::filesystem;

/// The studies of a sheet meet the same situations: what one has run the next finds.
constexpr std::size_t kRememberedBytes = std::size_t{128} << 20;

struct SheetCommand {
  AnswerOptions answer;
  std::string folder;
  SheetHead head;
  bool without_pdf = false;
};

std::string today() {
  const std::time_t now = std::time(nullptr);
  std::tm local{};
  ::localtime_r(&now, &local);
  return fmt::format("{:%Y-%m-%d}", local);
}

/// Paper of an older sheet must not lie beside a new page.
void remove_old(const std::string& pdf_file) {
  std::error_code error;
  fs::remove(pdf_file, error);
  if (error) {
    throw UsageError(fmt::format("'{}' is of an older sheet and cannot be removed: {}", pdf_file,
                                 error.message()));
  }
}

/// A folder that exists, made when its own folder is there.
void require_folder(const std::string& folder) {
  std::error_code error;
  fs::create_directory(folder, error);
  if (!fs::is_directory(folder)) {
    throw UsageError(fmt::format("'{}' is no folder and cannot be made: {}; name another with -o",
                                 folder, error.message()));
  }
}

/// What was written where, and what could not be.
std::string said(const std::string& html_file, const std::string& pdf_file,
                 const std::string& no_pdf, core::Verdict verdict) {
  std::string text = fmt::format("Bench sheet: {}\n", shown(html_file, page_style()));
  text += no_pdf.empty() ? fmt::format("For paper:   {}\n", shown(pdf_file, page_style()))
                         : fmt::format("No PDF:      {}. Print the page from a browser.\n", no_pdf);
  switch (verdict) {
    case core::Verdict::unsafe:
      return text +
             "RESULT: UNSAFE. A limit is exceeded: no power until it is changed. See the "
             "front page.\n";
    case core::Verdict::no_verdict:
      return text + "RESULT: NO VERDICT. Something could not be judged: see the front page.\n";
    case core::Verdict::safe:
      break;
  }
  return text + "RESULT: no limit exceeded, for the parts as recorded. Your meter decides.\n";
}

/// @returns why there is none; empty when it was written.
std::string write_pdf(const SheetCommand& command, const std::string& html_file,
                      const std::string& pdf_file) {
  OutputFile file(pdf_file, command.answer.rig_file);
  const SheetPdf pdf = print_sheet(html_file);
  if (cancel_requested()) {
    throw Cancelled();
  }
  if (pdf.failure.empty()) {
    file.commit(pdf.pdf);
  }
  return pdf.failure;
}

SheetAnswers answers_for(const SheetCommand& command, const core::Rig& rig) {
  ProgressLine progress;
  PoolOptions options = pool_options(command.answer);
  options.remembered_bytes = kRememberedBytes;
  WorkerPool pool(options);
  return sheet_answers(rig, progress.callback(), pool);
}

int write_sheet(const SheetCommand& command) {
  const core::Rig rig = core::read_rig_file(command.answer.rig_file);
  require_folder(command.folder);
  const std::string html_file = (fs::path(command.folder) / "bench-sheet.html").string();
  const std::string pdf_file = (fs::path(command.folder) / "bench-sheet.pdf").string();
  OutputFile html(html_file, command.answer.rig_file);
  SheetHead head = command.head;
  head.date = head.date.empty() ? today() : head.date;
  const SheetAnswers answers = answers_for(command, rig);
  const std::string page =
      sheet_html({rig, answers, head, sheet_facts(rig, RampupOptions{}, head.date)});
  if (cancel_requested()) {
    throw Cancelled();
  }
  html.commit(page);
  remove_old(pdf_file);
  const std::string no_pdf = command.without_pdf ? "left out on request (--no-pdf)"
                                                 : write_pdf(command, html_file, pdf_file);
  const core::Verdict verdict = sheet_verdict(answers);
  write_standard_output(said(html_file, pdf_file, no_pdf, verdict));
  return exit_code_of(verdict);
}

}  // namespace

void add_sheet_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<SheetCommand>();
  CLI::App* command = app.add_subcommand(
      "sheet", "the bench sheet: one page for paper and tablet, with blanks to fill in");
  command->add_option("RIG", options->answer.rig_file, "record file of the rig (docs/records.md)")
      ->required();
  command
      ->add_option("-o,--out", options->folder,
                   "folder for bench-sheet.html and bench-sheet.pdf; made when it is not there")
      ->required();
  command->add_option("--date", options->head.date, "date on the sheet; default: today");
  command->add_option("--operator", options->head.operator_name, "name; default: a blank");
  command->add_option("--watcher", options->head.watcher, "name; default: a blank");
  command->add_option("--cut-off", options->head.cut_off,
                      "where the power is cut; default: a blank");
  command->add_flag("--no-pdf", options->without_pdf, "write no PDF, even with Chromium there");
  command
      ->add_option("--workers", options->answer.workers,
                   "solver processes, 1 to 8; default one per core")
      ->check(CLI::Range(1, 8, "1-8"));
  command->callback([options, &chosen] { chosen = [options] { return write_sheet(*options); }; });
}

}  // namespace firstglow::sim
