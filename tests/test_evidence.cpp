// What was seen of a test section as numbers: words and numbers of the lamp, means of the gauge.
#include "decide/evidence.hpp"
#include "units/error.hpp"
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

namespace test_evidence {
using namespace sparecoat::cli;

namespace {

/// Every number a person may say: 0, 5, ... 95, 96, ... 100 %.
std::vector<double> spoken_numbers() {
    std::vector<double> said;
    for (int percent = 0; percent < 95; percent += 5) said.push_back(percent / 100.0);
    for (int percent = 95; percent <= 100; ++percent) said.push_back(percent / 100.0);
    return said;
}

} // namespace

TEST_CASE("a number seen stands for all that is nearer to it than to the next number a person would say",
          "[learning]") {
    CHECK(seen_number(0.90).low == Approx(0.875));
    CHECK(seen_number(0.90).high == Approx(0.925));
    CHECK(seen_number(0.95).low == Approx(0.925));
    CHECK(seen_number(0.95).high == Approx(0.955));
    CHECK(seen_number(0.96).low == Approx(0.955));
    CHECK(seen_number(0.99).high == Approx(0.995));
    CHECK(seen_number(0).low == 0);
    CHECK(seen_number(1).high == 1);
    const std::vector<double> said = spoken_numbers();
    for (std::size_t k = 0; k + 1 < said.size(); ++k)
        CHECK(seen_number(said[k]).high == Approx(seen_number(said[k + 1]).low).epsilon(1e-12));
    for (const double odd : {0.43, 0.94, 0.953, 0.957, 0.975}) // stands for itself at least
        CHECK((seen_number(odd).low < odd && odd < seen_number(odd).high));
    for (const double not_a_share : {-0.01, 1.01, std::nan("")})
        CHECK_THROWS_AS(seen_number(not_a_share), std::invalid_argument);
}

TEST_CASE("what was seen is read from a word or a number with its sign", "[learning]") {
    CHECK(seen_share("nearly all").low == 0.88);
    CHECK(seen_share("  Better ").high == 0.95);
    for (const SeenWord& known : seen_words)
        CHECK(seen_share(std::string(known.word)).low == known.share.low);
    CHECK(seen_share("90 %").low == Approx(0.875));
    CHECK(seen_share("97%").high == Approx(0.975));
    CHECK(seen_share("100 %").high == 1);
}

TEST_CASE("what cannot be read as seen is refused with the words that can", "[learning]") {
    for (const char* bad :
         {"fine", "", " ", "90", "0.9", "110 %", "-5 %", "%", "half a %", "nan %", "most all"}) {
        CAPTURE(bad);
        try {
            seen_share(bad);
            FAIL("was read");
        } catch (const InputError& error) {
            CHECK(error.file().empty());
            CHECK(error.found() == '"' + std::string(bad) + '"');
            for (const SeenWord& known : seen_words)
                CHECK(error.allowed().find(known.word) != std::string::npos);
            CHECK(error.allowed().find("\"90 %\"") != std::string::npos);
        }
    }
}

TEST_CASE("the words begin higher one after the other and leave no share without a word", "[learning]") {
    for (const SeenWord& known : seen_words) CHECK(known.share.low < known.share.high);
    for (std::size_t k = 0; k + 1 < seen_words.size(); ++k) {
        CHECK(seen_words[k].share.low < seen_words[k + 1].share.low);
        CHECK(seen_words[k].share.high >= seen_words[k + 1].share.low);
    }
    CHECK(seen_words.front().share.low == 0);
    CHECK(seen_words.back().share.high == 1);
}

TEST_CASE("a person says some number of those there are", "[learning]") {
    for (const double q : {0.0, 0.013, 0.3, 0.5, 0.86, 0.955, 0.997, 1.0}) {
        double sum = 0;
        for (const double said : spoken_numbers()) sum += seen_probability(seen_number(said), q);
        CHECK(sum == Approx(1).epsilon(1e-12)); // rounding alone
    }
}

TEST_CASE("the lamp's ends are open: nobody sees less than nothing cleared or more than all", "[learning]") {
    // By hand: impression N(1, 0.02), "all" from 0.97 on: Phi(1.5). N(0, 0.02) up to 0.10: Phi(5).
    CHECK(seen_probability({0.97, 1.0}, 1.0) == Approx(0.933192798731).epsilon(1e-9));
    CHECK(seen_probability({0.0, 0.1}, 0.0) == Approx(0.999999713348).epsilon(1e-11));
    CHECK(seen_probability({0.0, 1.0}, 0.4) == 1);
    // N(0.5, 0.12) within 0.05 of the middle: erf(0.05 / 0.12 / sqrt 2).
    CHECK(seen_probability({0.45, 0.55}, 0.5) ==
          Approx(std::erf(0.05 / 0.12 / std::sqrt(2.0))).epsilon(1e-12));
}

TEST_CASE("the lamp is least sure at the half, and surer of itself than a fiftieth nowhere", "[learning]") {
    CHECK(lamp_sd(0.5) == Approx(0.12));
    CHECK(lamp_sd(0.9) == Approx(0.02 + 0.2 * 0.3));
    CHECK(lamp_sd(0) == Approx(0.02));
    CHECK(lamp_sd(1) == Approx(0.02));
    CHECK(lamp_sd(1 + 1e-15) == Approx(0.02)); // a share that rounding took beyond 1
}

TEST_CASE("what the lamp all but excludes keeps its digits on both sides", "[learning]") {
    // erfc's asymptotic series (Abramowitz and Stegun, 7.1.23), z phi(z)^-1 tail = 1 - 1/z² + 3/z^4 ...: at
    // 0.55/0.02 = 27.5 deviations three terms are good to 15/z^6 = 3e-8; the far end of the interval adds
    // nothing.
    const double z = 27.5;
    const double tail = std::exp(-0.5 * z * z) / (z * std::sqrt(2 * std::acos(-1.0))) *
                        (1 - 1 / (z * z) + 3 / (z * z * z * z));
    CHECK(seen_probability({0.55, 0.9}, 0.0) == Approx(tail).epsilon(1e-6));
    CHECK(seen_probability({0.1, 0.45}, 1.0) == Approx(tail).epsilon(1e-6));
}

TEST_CASE("the gauge's error of a loss has both means' readings in it", "[learning]") {
    // By hand: 1 um sqrt(1/4 + 1/9) = 0.600925 um.
    const GaugePair pair{112.4, 110.9, 4, 9, 1.0};
    CHECK(pair.loss_um() == Approx(1.5));
    CHECK(pair.sd_um() == Approx(0.6009252).epsilon(1e-6));
    CHECK(GaugePair{100, 100, 1, 1, 0.5}.sd_um() == Approx(0.5 * std::sqrt(2.0)));
}

} // namespace test_evidence
