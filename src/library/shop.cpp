#include "library/shop.hpp"
#include "formats/read_document.hpp"

namespace sparecoat::library {

Shop read_shop(const nlohmann::json& document, const std::string& file) {
    return read_document(PresetKind::shop, document, file, [](const Values& values) {
        Shop shop;
        shop.name = values.text("name");
        if (values.has("lines")) shop.lines = values.raw("lines").get<std::vector<std::string>>();
        if (values.has("logo")) shop.logo = beside(values.place().file, values.text("logo"));
        return shop;
    });
}

Shop load_shop(const std::filesystem::path& file) { return read_shop(load_json(file), file.string()); }

} // namespace sparecoat::library
