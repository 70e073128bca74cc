#include "support/schema_check.hpp"
#include "support/files.hpp"
#include <nlohmann/json.hpp>

#define VALIJSON_USE_EXCEPTIONS 1 // NOLINT(cppcoreguidelines-macro-usage)
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validation_results.hpp>
#include <valijson/validator.hpp>

namespace sparecoat::test {
using nlohmann::json;

std::vector<std::string> deviations(const json& document, const std::filesystem::path& schema_path) {
    using Adapter = valijson::adapters::NlohmannJsonAdapter;
    const json text = json::parse(bytes_of(schema_path));
    valijson::Schema schema;
    // A schema may lean on another one beside it.
    valijson::SchemaParser(valijson::SchemaParser::kDraft7)
        .populateSchema(
            Adapter(text), schema,
            [&](const std::string& uri) -> const json* {
                return new json(json::parse(bytes_of(schema_path.parent_path() / uri)));
            },
            [](const json* fetched) { delete fetched; });
    valijson::ValidationResults results;
    valijson::Validator().validate(schema, Adapter(document), &results);
    std::vector<std::string> out;
    valijson::ValidationResults::Error error;
    while (results.popError(error)) {
        std::string place;
        for (const std::string& part : error.context) place += part;
        out.push_back(place + ": " + error.description);
    }
    return out;
}

} // namespace sparecoat::test
