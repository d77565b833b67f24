/// @file
/// Test only, the negative control of the injection tests: a session that is not locked down
/// runs the lines of a file, so that the same lines are seen to work where nothing stops them.

#include <unistd.h>

#include <fstream>
#include <iostream>

#include "sim/engine/ngspice_session.hpp"

int main(int argc, char** argv) {
  if (argc != 2) {
    return 2;
  }
  alarm(5);
  std::ifstream file(argv[1]);
  std::vector<std::string> lines;
  for (std::string line; std::getline(file, line);) {
    lines.push_back(line);
  }
  firstglow::sim::NgspiceSession session;
  for (const std::string& line : session.run(lines, {"n1"}, 0.01).solver_lines) {
    std::cout << line << '\n';
  }
  std::cout.flush();
  _exit(0);
}
