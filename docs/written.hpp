#pragma once
// What of docs/ is written from the program's own tables: schemas, and tables of keys between two marks of a
// page.
#include <string>
#include <vector>

namespace sparecoat::docs {

struct WrittenFile {
    std::string path; ///< from the root of the source tree
    std::string text;
};
struct WrittenTable {
    std::string page; ///< from the root of the source tree
    std::string name; ///< it lies between <!-- name --> and <!-- end -->
    std::string text;
};

std::vector<WrittenFile> schemas();
std::vector<WrittenTable> tables();

/// A page's text with a table as it is to be. Throws std::runtime_error where the page lacks the marks.
std::string with_table(const std::string& page_text, const WrittenTable& table);

} // namespace sparecoat::docs
