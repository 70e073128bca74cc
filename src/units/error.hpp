#pragma once
#include "rooms.hpp"
#include <stdexcept>
#include <string>
#include <utility>

namespace sparecoat::units {

/// A bad input, said once in full: which file, where in it, what was found, what is allowed.
/// `place` is a JSON pointer ("/film/clear"), "line 12", an option name ("--grid") or empty.
/// The command line prints what() and exits with 2; the window shows the same text.
class InputError : public std::runtime_error {
public:
    InputError(std::string file, std::string place, std::string found, std::string allowed)
        : std::runtime_error(compose(file, place, found, allowed)), file_(std::move(file)),
          place_(std::move(place)), found_(std::move(found)), allowed_(std::move(allowed)) {}

    const std::string& file() const { return file_; }
    const std::string& place() const { return place_; }
    const std::string& found() const { return found_; }
    const std::string& allowed() const { return allowed_; }

private:
    static std::string compose(const std::string& file, const std::string& place, const std::string& found,
                               const std::string& allowed) {
        std::string text = file;
        if (!place.empty()) text += (text.empty() ? "" : ": ") + place;
        text += (text.empty() ? "" : ": ") + std::string("found ") + found;
        if (!allowed.empty()) text += "; allowed: " + allowed;
        return text;
    }
    std::string file_, place_, found_, allowed_;
};

} // namespace sparecoat::units
