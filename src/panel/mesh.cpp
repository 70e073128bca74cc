#include "panel/sources.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "units/text.hpp"
#include <algorithm>
#include <assimp/DefaultIOSystem.h>
#include <assimp/Importer.hpp>
#include <assimp/MemoryIOWrapper.h>
#include <assimp/postprocess.h>
#include <assimp/scene.h>
#include <cmath>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <iterator>
#include <limits>
#include <map>
#include <set>
#include <unordered_map>

namespace sparecoat::panel {
namespace {

Point3 operator+(Point3 a, Point3 b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
Point3 operator-(Point3 a, Point3 b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
Point3 operator*(double s, Point3 a) { return {s * a.x, s * a.y, s * a.z}; }
double dot(Point3 a, Point3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
Point3 cross(Point3 a, Point3 b) {
    return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
double norm(Point3 a) { return std::sqrt(dot(a, a)); }
Point2 seen(Point3 a) { return {a.x, a.y}; }

std::string place_of(Point3 p) {
    return fmt::format("({:.1f}, {:.1f}, {:.1f}) mm", p.x / mm, p.y / mm, p.z / mm);
}

using Triangle = std::array<int, 3>;

/// Points and triangles as they lie in the file, in metres.
struct Soup {
    std::vector<Point3> points;
    std::vector<Triangle> triangles;
};

/// What the importer may open: the mesh, from memory, and where the mesh lies in a folder also the files that
/// it names, since an OBJ's material file has a say in the order of its parts.
class MeshFiles : public Assimp::IOSystem {
public:
    MeshFiles(std::string path, FileBytes bytes, bool in_folder)
        : path_(std::move(path)), bytes_(std::move(bytes)), in_folder_(in_folder) {}

    bool Exists(const char* file) const override {
        return file == path_ ? bytes_ != nullptr : in_folder_ && folder_.Exists(file);
    }
    char getOsSeparator() const override { return folder_.getOsSeparator(); }
    Assimp::IOStream* Open(const char* file, const char* mode) override {
        if (file != path_) return in_folder_ ? folder_.Open(file, mode) : nullptr;
        if (!bytes_) return nullptr;
        return new Assimp::MemoryIOStream(reinterpret_cast<const std::uint8_t*>(bytes_->data()),
                                          bytes_->size()); // goes in Close
    }
    void Close(Assimp::IOStream* stream) override { delete stream; }

private:
    std::string path_;
    FileBytes bytes_;
    bool in_folder_;
    Assimp::DefaultIOSystem folder_;
};

Soup import(const Mesh& mesh) {
    const std::string path = mesh.file.string();
    const std::string extension = lower_extension(mesh.file);
    if (extension != ".obj" && extension != ".stl")
        throw InputError(path, "", fmt::format("a \"{}\" file", extension), "a mesh in OBJ or STL");
    if (std::error_code ignored; !mesh.bytes && !std::filesystem::is_regular_file(mesh.file, ignored))
        throw InputError(path, "", "no such file", "a mesh in OBJ or STL");

    Assimp::Importer importer;
    importer.SetIOHandler( // which is the importer's from then on
        new MeshFiles(path, mesh.bytes ? mesh.bytes : bytes_of_file(mesh.file), !mesh.bytes));
    const aiScene* scene = importer.ReadFile(path, aiProcess_Triangulate | aiProcess_PreTransformVertices);
    if (!scene) {
        // The library's own words for a file without a triangle speak of nodes and orphans.
        const std::string why = importer.GetErrorString();
        const bool empty =
            why.find("orphaned") != std::string::npos || why.find("No meshes") != std::string::npos;
        throw InputError(path, "", empty ? "no triangles" : fmt::format("no mesh ({})", why),
                         "a mesh in OBJ or STL");
    }
    Soup soup;
    for (unsigned m = 0; m < scene->mNumMeshes; ++m) {
        const aiMesh& part = *scene->mMeshes[m];
        const int first = static_cast<int>(soup.points.size());
        for (unsigned v = 0; v < part.mNumVertices; ++v) {
            const aiVector3D& p = part.mVertices[v];
            soup.points.push_back({p.x * mesh.unit_m, p.y * mesh.unit_m, p.z * mesh.unit_m});
        }
        for (unsigned f = 0; f < part.mNumFaces; ++f) {
            const aiFace& face = part.mFaces[f];
            if (face.mNumIndices != 3) continue; // loose points and lines carry no paint
            const auto corner = [&](int c) { return first + static_cast<int>(face.mIndices[c]); };
            soup.triangles.push_back({corner(0), corner(1), corner(2)});
        }
    }
    if (soup.triangles.empty()) throw InputError(path, "", "a mesh without triangles", "one open sheet");
    return soup;
}

void check_numbers(const Soup& soup, const std::string& path) {
    for (std::size_t t = 0; t < soup.triangles.size(); ++t)
        for (int corner : soup.triangles[t])
            if (!std::isfinite(norm(soup.points[static_cast<std::size_t>(corner)])))
                throw InputError(path, fmt::format("triangle {}", t + 1), "a coordinate that is no number",
                                 "finite coordinates");
}

/// Makes one point of points nearer than 5 µm to each other (STL repeats every corner), the first
/// standing for the rest, then drops triangles that have collapsed or are there twice.
Soup weld(const Soup& soup) {
    constexpr double near_m = 5e-6, box_m = 8 * near_m;
    struct Key {
        std::int64_t x, y, z;
        bool operator==(const Key&) const = default;
    };
    struct Hash {
        std::size_t operator()(const Key& k) const {
            return static_cast<std::size_t>(k.x * 73856093 ^ k.y * 19349663 ^ k.z * 83492791);
        }
    };
    const auto box = [](double x) { return static_cast<std::int64_t>(std::floor(x / box_m)); };
    std::unordered_map<Key, std::vector<int>, Hash> boxes; // looked up only, never walked
    Soup welded;
    const auto find = [&](Point3 p) {
        for (std::int64_t x = box(p.x - near_m); x <= box(p.x + near_m); ++x)
            for (std::int64_t y = box(p.y - near_m); y <= box(p.y + near_m); ++y)
                for (std::int64_t z = box(p.z - near_m); z <= box(p.z + near_m); ++z)
                    if (const auto found = boxes.find({x, y, z}); found != boxes.end())
                        for (int candidate : found->second)
                            if (norm(welded.points[static_cast<std::size_t>(candidate)] - p) < near_m)
                                return candidate;
        return -1;
    };
    std::vector<int> stands_for(soup.points.size());
    for (std::size_t k = 0; k < soup.points.size(); ++k) {
        const Point3 p = soup.points[k];
        int number = find(p);
        if (number < 0) {
            number = static_cast<int>(welded.points.size());
            welded.points.push_back(p);
            boxes[{box(p.x), box(p.y), box(p.z)}].push_back(number);
        }
        stands_for[k] = number;
    }
    std::set<Triangle> known;
    for (const Triangle& t : soup.triangles) {
        Triangle w{stands_for[static_cast<std::size_t>(t[0])], stands_for[static_cast<std::size_t>(t[1])],
                   stands_for[static_cast<std::size_t>(t[2])]};
        if (w[0] == w[1] || w[1] == w[2] || w[2] == w[0]) continue;
        std::rotate(w.begin(), std::min_element(w.begin(), w.end()), w.end()); // same winding, one spelling
        if (known.insert(w).second) welded.triangles.push_back(w);
    }
    return welded;
}

std::array<Point3, 3> corners_of(const std::vector<Point3>& points, const Triangle& t) {
    return {points[static_cast<std::size_t>(t[0])], points[static_cast<std::size_t>(t[1])],
            points[static_cast<std::size_t>(t[2])]};
}

/// Axes of the view: z along the area-weighted mean normal, u along the file's x axis as far as it
/// lies across the view (its y axis if x runs nearly along it).
struct View {
    Point3 u, v, z;
    Point3 operator()(Point3 p) const { return {dot(p, u), dot(p, v), dot(p, z)}; }
};

View view_of(const Soup& soup, const std::string& path) {
    Point3 sum;
    double area = 0;
    for (const Triangle& t : soup.triangles) {
        const auto [a, b, c] = corners_of(soup.points, t);
        const Point3 normal = 0.5 * cross(b - a, c - a);
        sum = sum + normal;
        area += norm(normal);
    }
    constexpr double least_facing = 0.01; // a closed body has 0, a half sphere 0.5
    if (!(norm(sum) > least_facing * area))
        throw InputError(path, "",
                         "a mesh whose faces point all ways, so that it has no side towards the pad",
                         "one open sheet with its triangles wound alike");
    View view;
    view.z = (1 / norm(sum)) * sum;
    for (Point3 axis : {Point3{1, 0, 0}, Point3{0, 1, 0}}) {
        view.u = axis - dot(axis, view.z) * view.z;
        if (norm(view.u) > 0.1) break;
    }
    view.u = (1 / norm(view.u)) * view.u;
    view.v = cross(view.z, view.u);
    return view;
}

/// Twice the area of a triangle as seen along z; negative when it faces away.
double seen_area2(const std::array<Point3, 3>& c) {
    return (c[1].x - c[0].x) * (c[2].y - c[0].y) - (c[1].y - c[0].y) * (c[2].x - c[0].x);
}

void check_facing(const FacedSheet& sheet, const std::string& path) {
    constexpr double negligible_m2 = 1e-6; // a square millimetre of ragged edge
    double hidden_m2 = 0, worst = 0;
    const Triangle* place = nullptr;
    for (const Triangle& t : sheet.triangles) {
        const double area2 = seen_area2(corners_of(sheet.points, t));
        if (area2 >= 0) continue;
        hidden_m2 -= area2 / 2;
        if (area2 < worst) {
            worst = area2;
            place = &t;
        }
    }
    if (hidden_m2 <= negligible_m2) return;
    const auto [a, b, c] = corners_of(sheet.in_file_m, *place);
    throw InputError(
        path, place_of((1.0 / 3) * (a + b + c)),
        fmt::format("a fold that hides surface: {:.1f} mm2 face away from the rest", hidden_m2 * 1e6),
        "one open sheet, wholly seen along its mean normal, with its triangles wound alike");
}

/// Moves heights so that their mean over the sheet is 0: a file's far-off origin would cost precision.
void centre_heights(FacedSheet& sheet) {
    double volume6 = 0, area2 = 0;
    for (const Triangle& t : sheet.triangles) {
        const auto c = corners_of(sheet.points, t);
        volume6 += seen_area2(c) * (c[0].z + c[1].z + c[2].z);
        area2 += seen_area2(c);
    }
    if (!(area2 > 0)) return;
    const double mean = volume6 / (3 * area2);
    for (Point3& p : sheet.points) p.z -= mean;
}

/// For every point the points that boundary edges lead to from it, triangle on the left.
std::map<int, std::vector<int>> boundary_edges(const FacedSheet& sheet) {
    std::map<std::pair<int, int>, int> uses; // of an edge a -> b, less those of b -> a
    for (const Triangle& t : sheet.triangles)
        for (std::size_t k = 0; k < 3; ++k) {
            const int a = t[k], b = t[(k + 1) % 3];
            a < b ? ++uses[{a, b}] : --uses[{b, a}];
        }
    std::map<int, std::vector<int>> next;
    for (const auto& [edge, count] : uses) {
        for (int k = 0; k < count; ++k) next[edge.first].push_back(edge.second);
        for (int k = 0; k < -count; ++k) next[edge.second].push_back(edge.first);
    }
    return next;
}

/// One triangle's heights at the cell centres it covers.
class Raster {
public:
    Raster(const FacedSheet& sheet, const Grid& grid, const std::string& path)
        : sheet_(sheet), grid_(grid), path_(path),
          height_m_(grid.cells(), std::numeric_limits<double>::quiet_NaN()) {}

    void add(const Triangle& triangle) {
        const auto c = corners_of(sheet_.points, triangle);
        const double area2 = seen_area2(c);
        if (!(area2 > 1e-14)) return; // on edge to the view
        const PointBox box = box_of(std::array{seen(c[0]), seen(c[1]), seen(c[2])});
        constexpr double rounding_m = 1e-9; // no cell falls between two triangles
        const GridWindow window = window_of(
            grid_, {box.low - Point2{rounding_m, rounding_m}, box.high + Point2{rounding_m, rounding_m}});
        const double least = -rounding_m * std::sqrt(area2) / area2;
        for (int j = 0; j < window.grid.nv; ++j)
            for (int i = 0; i < window.grid.nu; ++i) {
                const Point3 p{window.grid.x(i), window.grid.y(j), 0};
                const double a = seen_area2({p, c[1], c[2]}) / area2, b = seen_area2({c[0], p, c[2]}) / area2;
                const double rest = 1 - a - b;
                if (a < least || b < least || rest < least) continue;
                hit(grid_.index(window.i0 + i, window.j0 + j), a * c[0].z + b * c[1].z + rest * c[2].z,
                    triangle, {a, b, rest});
            }
    }

    std::vector<double> heights() { return std::move(height_m_); }

private:
    void hit(std::size_t cell, double z, const Triangle& triangle, std::array<double, 3> share) {
        double& height = height_m_[cell];
        if (std::isnan(height)) {
            height = z;
            return;
        }
        constexpr double one_sheet_m =
            0.5e-3; // neighbours share their edges; overlaps of a stitch lie this close
        if (std::abs(z - height) > one_sheet_m) {
            const auto c = corners_of(sheet_.in_file_m, triangle);
            throw InputError(path_, place_of(share[0] * c[0] + share[1] * c[1] + share[2] * c[2]),
                             fmt::format("a fold that hides surface: two layers {:.1f} mm apart",
                                         std::abs(z - height) / mm),
                             "one open sheet, wholly seen along its mean normal");
        }
        height = std::max(height, z);
    }

    const FacedSheet& sheet_;
    const Grid& grid_;
    const std::string& path_;
    std::vector<double> height_m_;
};

} // namespace

FileBytes bytes_of_file(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    if (!in) return nullptr;
    std::string bytes((std::istreambuf_iterator<char>(in)), {});
    return in.bad() ? nullptr : std::make_shared<const std::string>(std::move(bytes));
}

FacedSheet read_mesh(const Mesh& mesh, const std::string& file) {
    if (!(mesh.unit_m > 0) || !std::isfinite(mesh.unit_m))
        throw InputError(file, "/mesh/unit", fmt::format("{:g} mm", mesh.unit_m / mm), "over 0 mm");
    const std::string path = mesh.file.string();
    const Soup raw = import(mesh);
    check_numbers(raw, path);
    const Soup soup = weld(raw);
    const View view = view_of(soup, path);
    FacedSheet sheet{{}, soup.points, soup.triangles};
    sheet.points.reserve(soup.points.size());
    for (Point3 p : soup.points) sheet.points.push_back(view(p));
    check_facing(sheet, path);
    centre_heights(sheet);
    return sheet;
}

Outline outline_of(const FacedSheet& sheet, const std::string& file) {
    std::map<int, std::vector<int>> next = boundary_edges(sheet);
    std::vector<std::vector<Point2>> loops;
    while (!next.empty()) {
        std::vector<Point2> loop;
        const int start = next.begin()->first;
        int here = start;
        do {
            loop.push_back(seen(sheet.points[static_cast<std::size_t>(here)]));
            const auto at = next.find(here);
            here = at->second.back();
            at->second.pop_back();
            if (at->second.empty()) next.erase(at);
        } while (here != start);
        loops.push_back(std::move(loop));
    }
    return outline_from_loops(std::move(loops), file);
}

std::vector<double> sample_heights(const FacedSheet& sheet, const Grid& grid, const std::string& file) {
    Raster raster(sheet, grid, file);
    for (const Triangle& triangle : sheet.triangles) raster.add(triangle);
    return raster.heights();
}

} // namespace sparecoat::panel
