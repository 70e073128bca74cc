// Shares, plurals, sequences and times in words.
#include "units/percent.hpp"
#include "units/words.hpp"
#include <catch2/catch.hpp>

namespace test_words {
using namespace sparecoat::cli;

TEST_CASE("a share near all is not rounded to it") {
    CHECK(percent_finer_near_all(0.86) == "86 %");
    CHECK(percent_finer_near_all(0.99) == "99 %");
    CHECK(percent_finer_near_all(0.994) == "99.4 %");
    CHECK(percent_finer_near_all(0.9994) == "99.9 %");
    CHECK(percent_finer_near_all(0.9995) == "100 %");
    CHECK(of_hundred(0.9994) == "99");
    CHECK(of_hundred(0.9995) == "100");
    CHECK(of_hundred(0.625) == "62"); // a half goes to the even one
}

TEST_CASE("a small chance is not rounded to none") {
    CHECK(percent_finer_near_none(0) == "under 0.1 %");
    CHECK(percent_finer_near_none(0.003) == "0.3 %");
    CHECK(percent_finer_near_none(0.1) == "10 %");
}

TEST_CASE("what is only believed is never said to be sure") {
    CHECK(percent_never_sure(0) == "under 1 %");
    CHECK(percent_never_sure(0.6) == "60 %");
    CHECK(percent_never_sure(1) == "over 99 %");
}

TEST_CASE("a share that was entered is said as it was entered") {
    CHECK(percent_as_entered(0.975) == "97.5 %");
    CHECK(percent_as_entered(0.123456) == "12.35 %");
    CHECK(percent_as_entered(0.123456, 6) == "12.3456 %");
    CHECK(whole_percent(0.123456) == "12 %");
}

TEST_CASE("one is said otherwise than several, and a sequence step after step") {
    CHECK(counted(1, "set", "sets") == "1 set");
    CHECK(counted(std::size_t{0}, "set", "sets") == "0 sets");
    std::string words, brief;
    add_sets(words, 1, "paper");
    add_sets(words, 2, "polish");
    add_sets_briefly(brief, 1, "paper");
    add_sets_briefly(brief, 2, "polish");
    CHECK(words == "1 set of paper, then 2 sets of polish");
    CHECK(brief == "1 x paper, then 2 x polish");
}

TEST_CASE("a time is said in the units that a person would take") {
    CHECK(hours_text(59.4 * 60) == "59 min");
    CHECK(hours_text(59.6 * 60) == "1 h 00 min");
    CHECK(hours_text(380 * 60) == "6 h 20 min");
    CHECK(minutes_text(50) == "50 s");
    CHECK(minutes_text(720) == "12 min");
    CHECK(minutes_and_seconds_text(59.4) == "59 s");
    CHECK(minutes_and_seconds_text(185) == "3 min 05 s");
    CHECK(whole_minutes_text(10) == "1 min");
    CHECK(whole_minutes_text(150) == "3 min");
}

} // namespace test_words
