#include "formats/encoding.hpp"
#include <algorithm>
#include <array>
#include <fmt/format.h>
#include <new>
#include <openssl/evp.h>
#include <stdexcept>
#include <vector>

namespace sparecoat::formats {
namespace {

/// The library takes its lengths as int: this much at a time, a whole number of groups of three and of four.
constexpr std::size_t base64_piece = std::size_t{12} << 20U;

const unsigned char* bytes_of(std::string_view text) {
    return reinterpret_cast<const unsigned char*>(text.data());
}

bool is_base64(char c) {
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '+' || c == '/';
}

} // namespace

std::string sha256(std::string_view bytes) {
    std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
    unsigned length = 0;
    if (EVP_Digest(bytes.data(), bytes.size(), digest.data(), &length, EVP_sha256(), nullptr) != 1)
        throw std::bad_alloc(); // nothing else can fail here
    std::string text;
    for (unsigned k = 0; k < length; ++k) text += fmt::format("{:02x}", digest[k]);
    return text;
}

std::string to_base64(std::string_view bytes) {
    std::string text;
    std::vector<unsigned char> piece;
    for (std::size_t from = 0; from < bytes.size(); from += base64_piece) {
        const std::string_view part = bytes.substr(from, base64_piece);
        piece.resize((part.size() + 2) / 3 * 4 + 1); // a zero at the end
        const int length = EVP_EncodeBlock(piece.data(), bytes_of(part), static_cast<int>(part.size()));
        text.append(piece.begin(), piece.begin() + length);
    }
    return text;
}

std::string from_base64(std::string_view text) {
    if (text.size() % 4 != 0) throw std::invalid_argument("base64 that is cut off");
    std::size_t padding = 0;
    while (padding < 2 && padding < text.size() && text[text.size() - 1 - padding] == '=') ++padding;
    // The library passes over blanks and line ends; none belongs here.
    if (!std::ranges::all_of(text.substr(0, text.size() - padding), is_base64))
        throw std::invalid_argument("a character that is not base64");
    std::string bytes;
    std::vector<unsigned char> piece;
    for (std::size_t from = 0; from < text.size(); from += base64_piece) {
        const std::string_view part = text.substr(from, base64_piece);
        piece.resize(part.size() / 4 * 3);
        const int length = EVP_DecodeBlock(piece.data(), bytes_of(part), static_cast<int>(part.size()));
        if (length < 0) throw std::invalid_argument("a character that is not base64");
        bytes.append(piece.begin(), piece.begin() + length);
    }
    return bytes.substr(0, bytes.size() - padding); // what fills up reads as zeros
}

} // namespace sparecoat::formats
