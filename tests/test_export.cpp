#include "formats/fields_export.hpp"
#include "formats/output_folder.hpp"
#include "support/files.hpp"
#include "support/process.hpp"
#include "support/skip.hpp"
#include "units/error.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <regex>

namespace test_export {
using namespace sparecoat::cli;
using namespace sparecoat::test;
namespace fs = std::filesystem;

namespace {

/// Numbers in a byte string, least significant byte first, whatever the machine.
std::uint64_t unsigned_at(const std::string& bytes, std::size_t place, std::size_t length) {
    std::uint64_t value = 0;
    for (std::size_t n = length; n-- > 0;)
        value = value << 8 | static_cast<unsigned char>(bytes.at(place + n));
    return value;
}

float float_at(const std::string& bytes, std::size_t place) {
    const auto bits = static_cast<std::uint32_t>(unsigned_at(bytes, place, 4));
    float value = 0;
    std::memcpy(&value, &bits, 4);
    return value;
}

const Grid small{3, 2, 0.002, 0.011, -0.004};
const std::vector<float> ramp = {0.5f, 1.25f, -2, 1e-3f, 4, 5.5f};
const std::vector<std::uint8_t> mask = {1, 1, 0, 1, 0, 1};

std::string captured(const std::string& text, const std::string& pattern) {
    std::smatch found;
    REQUIRE(std::regex_search(text, found, std::regex(pattern)));
    return found[1];
}

} // namespace

// ---- NumPy arrays

TEST_CASE("an array file has NumPy's header and its values in C order, little-endian") {
    const ScratchFolder scratch;
    write_npy(scratch.path / "f.npy", small, ramp);
    const std::string bytes = bytes_of(scratch.path / "f.npy");
    CHECK(bytes.substr(0, 8) == std::string("\x93NUMPY\x01\x00", 8));
    const std::size_t header = unsigned_at(bytes, 8, 2);
    CHECK((10 + header) % 64 == 0);
    CHECK(bytes[10 + header - 1] == '\n');
    const std::string keys = bytes.substr(10, header);
    CHECK(keys.find("'descr': '<f4'") != std::string::npos);
    CHECK(keys.find("'fortran_order': False") != std::string::npos);
    CHECK(keys.find("'shape': (2, 3)") != std::string::npos);
    REQUIRE(bytes.size() == 10 + header + 6 * 4);
    for (std::size_t k = 0; k < 6; ++k) CHECK(float_at(bytes, 10 + header + 4 * k) == ramp[k]);
}

TEST_CASE("a mask file holds one byte a cell") {
    const ScratchFolder scratch;
    write_npy(scratch.path / "m.npy", small, mask);
    const std::string bytes = bytes_of(scratch.path / "m.npy");
    const std::size_t header = unsigned_at(bytes, 8, 2);
    CHECK(bytes.substr(10, header).find("'descr': '|u1'") != std::string::npos);
    REQUIRE(bytes.size() == 10 + header + 6);
    for (std::size_t k = 0; k < 6; ++k) CHECK(unsigned_at(bytes, 10 + header + k, 1) == mask[k]);
}

TEST_CASE("NumPy itself reads the arrays back") {
    if (run_line("/usr/bin/python3 -c 'import numpy'").code != 0) skip("no python3 with numpy is installed");
    const ScratchFolder scratch;
    write_npy(scratch.path / "f.npy", small, ramp);
    write_npy(scratch.path / "m.npy", small, mask);
    write_text(scratch.path / "check.py",
               "import numpy as np, os\n"
               "os.chdir(os.path.dirname(os.path.abspath(__file__)))\n"
               "f, m = np.load('f.npy'), np.load('m.npy')\n"
               "assert f.dtype == np.float32 and f.shape == (2, 3) and f.flags.c_contiguous\n"
               "assert f[0, 2] == -2 and f[1, 0] == np.float32(1e-3) and f[1, 2] == 5.5\n"
               "assert m.dtype == np.uint8 and m.tolist() == [[1, 1, 0], [1, 0, 1]]\n");
    said_by("/usr/bin/python3 " + shell_word(scratch / "check.py"));
}

TEST_CASE("the header of a large array keeps the data at a multiple of 64 bytes") {
    const ScratchFolder scratch;
    const Grid large{1201, 1000, 0.001, 0, 0};
    write_npy(scratch.path / "l.npy", large, std::vector<std::uint8_t>(large.cells(), 7));
    const std::string bytes = bytes_of(scratch.path / "l.npy");
    CHECK((bytes.size() - large.cells()) % 64 == 0);
    CHECK(bytes.find("(1000, 1201)") != std::string::npos);
}

// ---- VTK image data

TEST_CASE("an image data file says where its cells are") {
    const ScratchFolder scratch;
    write_vti(scratch.path / "f.vti", small, mask, {{"film_lost_um", ramp}});
    const std::string text = bytes_of(scratch.path / "f.vti");
    CHECK(captured(text, "<VTKFile type=\"([^\"]*)\"") == "ImageData");
    CHECK(captured(text, "byte_order=\"([^\"]*)\"") == "LittleEndian");
    CHECK(captured(text, "header_type=\"([^\"]*)\"") == "UInt64");
    CHECK(captured(text, "WholeExtent=\"([^\"]*)\"") ==
          "0 3 0 2 0 0"); // points, one more than cells along u and v
    CHECK(captured(text, "Piece Extent=\"([^\"]*)\"") == "0 3 0 2 0 0");
    CHECK(captured(text, "AppendedData encoding=\"([^\"]*)\"") == "raw");
    double x = 0, y = 0, z = 1, h[3] = {};
    REQUIRE(std::sscanf(captured(text, "Origin=\"([^\"]*)\"").c_str(), "%lf %lf %lf", &x, &y, &z) == 3);
    CHECK(x == Approx(0.010)); // the corner of cell (0, 0), half a cell before its centre
    CHECK(y == Approx(-0.005));
    CHECK(z == 0);
    REQUIRE(std::sscanf(captured(text, "Spacing=\"([^\"]*)\"").c_str(), "%lf %lf %lf", h, h + 1, h + 2) == 3);
    CHECK((h[0] == 0.002 && h[1] == 0.002));
}

TEST_CASE("every array of an image data file lies at its offset, NaN outside the panel") {
    const ScratchFolder scratch;
    const std::vector<float> other = {10, 11, 12, 13, 14, 15};
    write_vti(scratch.path / "f.vti", small, mask,
              {{"film_lost_um", ramp}, {"clear_left_um", other}, {"a<b&\"c\"", ramp}});
    const std::string bytes = bytes_of(scratch.path / "f.vti");
    const std::size_t data =
        bytes.find("<AppendedData encoding=\"raw\">") + std::strlen("<AppendedData encoding=\"raw\">");
    const std::size_t start = bytes.find('_', data) + 1;
    for (const auto& [name, values] :
         {std::pair{"film_lost_um", ramp}, {"clear_left_um", other}, {"a&lt;b&amp;&quot;c&quot;", ramp}}) {
        const std::string offset = captured(bytes, std::string("<DataArray type=\"Float32\" Name=\"") + name +
                                                       "\" format=\"appended\" offset=\"([0-9]+)\"");
        const std::size_t block = start + std::stoul(offset);
        REQUIRE(unsigned_at(bytes, block, 8) == 6 * 4);
        for (std::size_t k = 0; k < 6; ++k) {
            const float value = float_at(bytes, block + 8 + 4 * k);
            if (mask[k]) CHECK(value == values[k]);
            else CHECK(std::isnan(value));
        }
    }
    CHECK(bytes.substr(start + 3 * 32, 19) == "\n  </AppendedData>\n");
}

TEST_CASE("exports refuse fields of another size, names used twice and files that cannot be written") {
    const ScratchFolder scratch;
    const std::vector<float> short_one(5);
    CHECK_THROWS_AS(write_npy(scratch.path / "f.npy", small, short_one), std::invalid_argument);
    CHECK_THROWS_AS(write_vti(scratch.path / "f.vti", small, mask, {}), std::invalid_argument);
    CHECK_THROWS_AS(write_vti(scratch.path / "f.vti", small, mask, {{"a", short_one}}),
                    std::invalid_argument);
    CHECK_THROWS_AS(write_vti(scratch.path / "f.vti", small, mask, {{"a", ramp}, {"a", ramp}}),
                    std::invalid_argument);
    CHECK(scratch.entries() == 0);
    const fs::path nowhere = scratch.path / "no such folder" / "f.npy";
    CHECK_THROWS_AS(write_npy(nowhere, small, ramp), InputError);
    try {
        write_npy(nowhere, small, ramp);
    } catch (const InputError& error) {
        CHECK(error.file() == nowhere.string());
        CHECK(error.found().find("No such file") != std::string::npos);
    }
}

TEST_CASE("a disk that is full is reported, not swallowed") {
    if (!fs::exists("/dev/full")) return; // a device that refuses every byte; not on every system
    const Grid large{400, 400, 0.001, 0, 0};
    CHECK_THROWS_AS(write_npy("/dev/full", large, std::vector<float>(large.cells())), InputError);
    CHECK_THROWS_AS(write_npy("/dev/full", small, ramp), InputError); // fails only when the buffer is flushed
}

// ---- output folder

TEST_CASE("an output folder appears whole when it is committed") {
    const ScratchFolder scratch;
    const fs::path target = scratch.path / "out";
    {
        OutputFolder folder(target);
        write_text(folder.path() / "summary.json", "{}");
        fs::create_directory(folder.path() / "maps");
        write_text(folder.path() / "maps" / "lost.png", "x");
        CHECK_FALSE(fs::exists(target));
        CHECK(folder.path().parent_path() ==
              fs::canonical(scratch.path)); // beside it, so that rename can move it
        CHECK(folder.path().filename().string().front() == '.');
        folder.commit();
        CHECK_THROWS_AS(folder.commit(), std::logic_error);
    }
    CHECK(bytes_of(target / "maps" / "lost.png") == "x");
    CHECK(scratch.entries() == 4); // out, summary.json, maps, lost.png: nothing hidden left
}

TEST_CASE("an output folder given up halfway leaves nothing") {
    const ScratchFolder scratch;
    try {
        OutputFolder folder(scratch.path / "runs" / "monday" / "out"); // parents that were not there go too
        write_text(folder.path() / "summary.json", "half");
        throw std::runtime_error("midway");
    } catch (const std::runtime_error&) {}
    CHECK(scratch.entries() == 0);
}

TEST_CASE("giving up keeps a parent folder that someone else has begun to use") {
    const ScratchFolder scratch;
    {
        OutputFolder folder(scratch.path / "runs" / "out");
        write_text(scratch.path / "runs" / "note.txt", "mine");
    }
    CHECK(bytes_of(scratch.path / "runs" / "note.txt") == "mine");
    CHECK(scratch.entries() == 2);
}

TEST_CASE("an earlier output is replaced whole, and kept when the new one is given up") {
    const ScratchFolder scratch;
    const fs::path target = scratch.path / "out";
    const std::pair<const char*, const char*> documents[] = {
        {"summary.json", "sparecoat-run"},   {"summary.json", "sparecoat-compare"},
        {"lesson.json", "sparecoat-lesson"}, {"advice.json", "sparecoat-advice"},
        {"plan.json", "sparecoat-plan"},     {"risk.json", "sparecoat-risk"},
        {"fit.json", "sparecoat-fit"},       {"evenness.json", "sparecoat-evenness"},
        {"sweep.json", "sparecoat-sweep"},   {"compare.json", "sparecoat-comparison"}};
    for (const auto& [file, kind] : documents) {
        fs::remove_all(target);
        fs::create_directory(target);
        write_text(target / file, std::string("{\"kind\": \"") + kind + "\"}");
        write_text(target / "old.png", "old");
        { OutputFolder given_up(target); }
        CHECK(bytes_of(target / "old.png") == "old");
        OutputFolder folder(target);
        write_text(folder.path() / "new.png", "new");
        CHECK(bytes_of(target / "old.png") == "old"); // until the last moment
        folder.commit();
        CHECK_FALSE(fs::exists(target / "old.png"));
        CHECK(bytes_of(target / "new.png") == "new");
        CHECK(scratch.entries() == 2);
    }
}

TEST_CASE("an empty folder is taken over, by any spelling of its name") {
    const ScratchFolder scratch;
    fs::create_directory(scratch.path / "out");
    OutputFolder folder(scratch.path / "." / "other" / ".." / "out" / "");
    write_text(folder.path() / "a", "a");
    folder.commit();
    CHECK(bytes_of(scratch.path / "out" / "a") == "a");
    CHECK(scratch.entries() == 2);
}

TEST_CASE("a folder that is not ours is refused and left as it is") {
    const ScratchFolder scratch;
    const fs::path target = scratch.path / "photos";
    fs::create_directory(target);
    write_text(target / "door.jpg", "picture");
    for (const char* summary : {"", "not json", "[1, 2]", "{\"kind\": 3}", "{\"kind\": \"holiday\"}", "{}"}) {
        if (*summary) write_text(target / "summary.json", summary);
        try {
            OutputFolder folder(target);
            FAIL("took over a folder with summary " << summary);
        } catch (const InputError& error) {
            CHECK(error.file() == target.string());
            CHECK(error.found() == "a folder with other files in it");
        }
        CHECK(bytes_of(target / "door.jpg") == "picture");
    }
    CHECK(scratch.entries() == 3);
}

TEST_CASE("a file, the current folder and a folder above it are refused") {
    const ScratchFolder scratch;
    write_text(scratch.path / "out", "a file");
    CHECK_THROWS_AS(OutputFolder(scratch.path / "out"), InputError);
    CHECK_THROWS_AS(OutputFolder(scratch.path / "out" / "below"), InputError);
    CHECK_THROWS_AS(OutputFolder("."), InputError);
    CHECK_THROWS_AS(OutputFolder(".."), InputError);
    CHECK_THROWS_AS(OutputFolder("/"), InputError);
    CHECK_THROWS_AS(OutputFolder(""), InputError);
    CHECK(bytes_of(scratch.path / "out") == "a file");
    CHECK(scratch.entries() == 1);
}

TEST_CASE("a folder filled by someone else in the meantime is not overwritten") {
    const ScratchFolder scratch;
    const fs::path target = scratch.path / "out";
    {
        OutputFolder folder(target);
        write_text(folder.path() / "a", "a");
        fs::create_directory(target);
        write_text(target / "theirs", "theirs");
        CHECK_THROWS_AS(folder.commit(), InputError);
    }
    CHECK(bytes_of(target / "theirs") == "theirs");
    CHECK(scratch.entries() == 2);
}

TEST_CASE("two outputs in the making do not meet") {
    const ScratchFolder scratch;
    OutputFolder first(scratch.path / "out");
    OutputFolder second(scratch.path / "out");
    CHECK(first.path() != second.path());
}

TEST_CASE("a link to a folder stays a link") {
    const ScratchFolder scratch;
    fs::create_directory(scratch.path / "real");
    fs::create_directory_symlink(scratch.path / "real", scratch.path / "link");
    OutputFolder folder(scratch.path / "link");
    write_text(folder.path() / "a", "a");
    folder.commit();
    CHECK(fs::is_symlink(scratch.path / "link"));
    CHECK(bytes_of(scratch.path / "real" / "a") == "a");
}

} // namespace test_export
