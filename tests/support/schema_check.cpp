// The only file that sees the validator: it is all templates and slow to compile.
#include "support/schema_check.hpp"
#include "support/files.hpp"
#include "units/error.hpp"
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <vector>

// Set before the headers below, so that a schema it cannot read is an exception and not an abort.
#define VALIJSON_USE_EXCEPTIONS 1 // NOLINT(cppcoreguidelines-macro-usage)
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validation_results.hpp>
#include <valijson/validator.hpp>

namespace sparecoat::test {

namespace {

std::unique_ptr<valijson::Schema> parse_schema(const std::string& schema_text) {
    const auto text = nlohmann::json::parse(schema_text);
    auto schema = std::make_unique<valijson::Schema>();
    valijson::SchemaParser(valijson::SchemaParser::kDraft7)
        .populateSchema(valijson::adapters::NlohmannJsonAdapter(text), *schema);
    return schema;
}

const valijson::Schema& schema_of_kind(PresetKind kind) {
    static const std::vector<std::unique_ptr<valijson::Schema>> schemas = [] {
        std::vector<std::unique_ptr<valijson::Schema>> parsed;
        for (PresetKind k : all_preset_kinds()) parsed.push_back(parse_schema(schema_text(k)));
        return parsed;
    }();
    return *schemas[static_cast<std::size_t>(kind)];
}

/// The validator's context is "<root>", "[foam]", "[modulus]".
std::string pointer_of(const std::vector<std::string>& context) {
    std::string pointer;
    for (std::size_t i = 1; i < context.size(); ++i)
        pointer += "/" + context[i].substr(1, context[i].size() - 2);
    return pointer;
}

void hold_to(const valijson::Schema& schema, const std::string& name, const nlohmann::json& document,
             const std::string& file) {
    valijson::Validator validator;
    valijson::ValidationResults results;
    if (validator.validate(schema, valijson::adapters::NlohmannJsonAdapter(document), &results)) return;
    valijson::ValidationResults::Error deepest, next;
    while (results.popError(next))
        if (next.context.size() >= deepest.context.size()) deepest = next;
    throw InputError(file, pointer_of(deepest.context),
                     "a value against the schema (" + deepest.description + ")",
                     "what docs/schema/" + name + ".schema.json says");
}

} // namespace

void hold_to_schema(PresetKind kind, const nlohmann::json& document, const std::string& file) {
    hold_to(schema_of_kind(kind), std::string(name_of(kind)), document, file);
}

void hold_to_schema(const std::string& schema, const std::string& name, const nlohmann::json& document,
                    const std::string& file) {
    static std::map<std::string, std::unique_ptr<valijson::Schema>>
        parsed; // by text, since parsing takes long
    std::unique_ptr<valijson::Schema>& known = parsed[schema];
    if (!known) known = parse_schema(schema);
    hold_to(*known, name, document, file);
}

std::vector<std::string> deviations(const nlohmann::json& document,
                                    const std::filesystem::path& schema_path) {
    using Adapter = valijson::adapters::NlohmannJsonAdapter;
    const nlohmann::json text = nlohmann::json::parse(bytes_of(schema_path));
    valijson::Schema schema;
    // A schema may lean on another one beside it.
    valijson::SchemaParser(valijson::SchemaParser::kDraft7)
        .populateSchema(
            Adapter(text), schema,
            [&](const std::string& uri) -> const nlohmann::json* {
                return new nlohmann::json(nlohmann::json::parse(bytes_of(schema_path.parent_path() / uri)));
            },
            [](const nlohmann::json* fetched) { delete fetched; });
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
