// What is written in docs/ from the program's own tables is what the program reads by.
#include "docs/written.hpp"
#include "support/files.hpp"
#include "support/nonempty.hpp"
#include "support/places.hpp"
#include <catch2/catch.hpp>

namespace test_docs {
using namespace sparecoat;
using namespace sparecoat::test;

TEST_CASE("the schemas in docs are those that the program checks with", "[docs]") {
    for (const docs::WrittenFile& schema : nonempty(docs::schemas())) {
        INFO(schema.path << " differs; write it anew with docs/make_schemas");
        CHECK(bytes_of(source_at(schema.path)) == schema.text);
    }
}

TEST_CASE("the tables of keys in docs are those of the readers", "[docs]") {
    for (const docs::WrittenTable& table : nonempty(docs::tables())) {
        INFO(table.page << ": the table of " << table.name
                        << " differs; write it anew with docs/make_schemas");
        const std::string page = bytes_of(source_at(table.page));
        CHECK(docs::with_table(page, table) == page);
    }
}

TEST_CASE("a page that lacks the marks of a table is refused", "[docs]") {
    const docs::WrittenTable table{"page.md", "pad", "| rows |\n"};
    CHECK(docs::with_table("a\n<!-- pad -->\nold\n<!-- end -->\nb\n", table) ==
          "a\n<!-- pad -->\n| rows |\n<!-- end -->\nb\n");
    CHECK_THROWS_WITH(docs::with_table("a\n", table), Catch::Contains("page.md has no <!-- pad -->"));
    CHECK_THROWS_WITH(docs::with_table("<!-- pad -->\n", table), Catch::Contains("has no <!-- end -->"));
}

} // namespace test_docs
