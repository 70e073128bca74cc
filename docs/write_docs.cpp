// Writes docs/schema/ and the tables of keys in docs/*.md anew, from the tables that the program reads by:
//     write_docs SOURCE_TREE
// (docs/make_schemas builds and runs it.)
#include "written.hpp"
#include <exception>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <stdexcept>

namespace fs = std::filesystem;
using namespace sparecoat::docs;

namespace {

std::string read(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::string text{std::istreambuf_iterator<char>(in), {}};
    if (!in) throw std::runtime_error("cannot read " + file.string());
    return text;
}

void write(const fs::path& file, const std::string& text) {
    if (fs::exists(file) && read(file) == text) return;
    std::ofstream out(file, std::ios::binary);
    out << text;
    out.close();
    if (!out) throw std::runtime_error("cannot write " + file.string());
    std::cout << "written: " << file.string() << '\n';
}

} // namespace

int main(int argc, char** argv) try {
    if (argc != 2) throw std::runtime_error("usage: write_docs SOURCE_TREE");
    const fs::path root = argv[1];
    for (const WrittenFile& file : schemas()) write(root / file.path, file.text);
    for (const WrittenTable& table : tables())
        write(root / table.page, with_table(read(root / table.page), table));
} catch (const std::exception& error) {
    std::cerr << error.what() << '\n';
    return 1;
}
