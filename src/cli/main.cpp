#include "cli/program.hpp"

int main(int argc, char** argv) { return sparecoat::cli::run_program(argc, argv); }
