#include "sim/app/sheet_pdf.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <system_error>
#include <vector>

#include "sim/report/sheet/helper_program.hpp"

namespace firstglow::sim {
namespace {

namespace fs = std::filesystem;

/// A folder of our own that goes away with us.
class PrivateFolder {
 public:
  PrivateFolder() {
    std::error_code error;
    const fs::path base = fs::temp_directory_path(error);
    const std::string pattern = (error ? fs::path("/tmp") : base) / "firstglow-XXXXXX";
    std::vector<char> name(pattern.begin(), pattern.end());
    name.push_back('\0');
    if (::mkdtemp(name.data()) != nullptr) {
      path_ = name.data();
    }
  }
  ~PrivateFolder() {
    std::error_code ignored;
    if (!path_.empty()) {
      fs::remove_all(path_, ignored);
    }
  }
  PrivateFolder(const PrivateFolder&) = delete;
  PrivateFolder& operator=(const PrivateFolder&) = delete;

  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  std::string path_;
};

/// file:// with everything but plain characters as %XX.
std::string file_address(const std::string& path) {
  std::string address = "file://";
  for (const char letter : path) {
    const bool plain = (letter >= 'a' && letter <= 'z') || (letter >= 'A' && letter <= 'Z') ||
                       (letter >= '0' && letter <= '9') || letter == '/' || letter == '-' ||
                       letter == '_' || letter == '.';
    address +=
        plain ? std::string(1, letter) : fmt::format("%{:02X}", static_cast<unsigned char>(letter));
  }
  return address;
}

std::vector<std::string> browser_arguments(const std::string& folder, const std::string& page) {
  std::vector<std::string> arguments{
      "--headless", "--disable-gpu", "--disable-quic", "--disable-dev-shm-usage", "--no-first-run",
      "--disable-background-networking", "--disable-component-update", "--disable-sync",
      "--disable-extensions", "--no-pdf-header-footer",
      // for paper: who listens has the page itself
      "--disable-pdf-tagging", "--user-data-dir=" + folder + "/profile",
      "--print-to-pdf=" + folder + "/sheet.pdf"};
  if (::geteuid() == 0) {
    arguments.emplace_back("--no-sandbox");  // its sandbox refuses to start as root
  }
  arguments.push_back(page);
  return arguments;
}

}  // namespace

SheetPdf print_sheet(const std::string& html_file) {
  const PrivateFolder folder;
  std::error_code error;
  const fs::path page = fs::canonical(html_file, error);
  if (folder.path().empty() || error) {
    return {"", "no folder for the browser's work"};
  }
  HelperCall call{"chromium", browser_arguments(folder.path(), file_address(page.string())), ""};
  call.deadline = std::chrono::seconds(60);
  call.home = folder.path();
  const HelperAnswer answer = ask_helper(call);
  if (!answer.failure.empty()) {
    return {"", answer.failure};
  }
  std::ifstream file(folder.path() + "/sheet.pdf", std::ios::binary);
  std::ostringstream pdf;
  pdf << file.rdbuf();
  if (!pdf.str().starts_with("%PDF-")) {
    return {"", "chromium wrote no PDF"};
  }
  return {pdf.str(), ""};
}

}  // namespace firstglow::sim
