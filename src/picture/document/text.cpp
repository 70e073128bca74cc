#include "picture/document/text.hpp"
#include "picture/canvas.hpp"

namespace sparecoat::picture::document {

std::string printable(const std::string& text) {
    std::string out = valid_utf8(text);
    for (char& c : out)
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = ' ';
    return out;
}

std::string without_controls(const std::string& text) {
    std::string out;
    for (const char c : valid_utf8(text))
        if (static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t') out += c;
    return out;
}

} // namespace sparecoat::picture::document
