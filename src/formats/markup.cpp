#include "formats/markup.hpp"

namespace sparecoat::formats {

std::string escaped(std::string_view text, std::string_view signs) {
    std::string safe;
    for (const char c : text) {
        if (signs.find(c) == std::string_view::npos) {
            safe += c;
            continue;
        }
        switch (c) {
        case '&': safe += "&amp;"; break;
        case '<': safe += "&lt;"; break;
        case '>': safe += "&gt;"; break;
        case '"': safe += "&quot;"; break;
        case '\'': safe += "&#39;"; break;
        default: safe += c;
        }
    }
    return safe;
}

} // namespace sparecoat::formats
