/// @file
/// The program `firstglow`.
#include "sim/app/command_line.hpp"
#include "sim/app/interrupts.hpp"

int main(int argc, char** argv) {
  firstglow::sim::reserve_standard_streams();
  firstglow::sim::handle_interrupts();
  return firstglow::sim::run_command_line(argc, argv);
}
