#include "picture/document/writers.hpp"

namespace sparecoat::picture::document {
namespace {

/// RFC 4180, section 2: in quotes where it holds a quote, a comma or a line break; quotes are doubled.
std::string field(const std::string& text) {
    if (text.find_first_of("\",\r\n") == std::string::npos) return text;
    std::string out = "\"";
    for (const char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
    return out + '"';
}

void add_record(std::string& out, const std::vector<std::string>& fields) {
    for (std::size_t k = 0; k < fields.size(); ++k) out += (k == 0 ? "" : ",") + field(valid_utf8(fields[k]));
    out += "\r\n";
}

} // namespace

std::string csv_of(const Table& table) {
    std::string out;
    std::vector<std::string> headings;
    for (const Column& column : table.columns) headings.push_back(column.heading);
    add_record(out, headings);
    for (const std::vector<std::string>& row : table.rows) add_record(out, row);
    return out;
}

} // namespace sparecoat::picture::document
