#pragma once
#include "formats/form.hpp"
#include "formats/reader.hpp"
#include "library/sweep_design.hpp"
#include <nlohmann/json.hpp>
#include <string>

namespace sparecoat::study {

/// A factor made ready: from a coordinate of the unit cube to a value as its preset's file would have it. Of
/// a range given with a unit all values are in that unit, to twelve digits.
class FactorScale {
public:
    /// @param place of the factor, for messages. @throws InputError: a pointer that its kind of preset has no
    /// value at, a range of what is no number, ends that are none of its values or the wrong way round.
    FactorScale(const SweepFactor& factor, const Place& place);

    nlohmann::json value(double x) const;
    double number(double x) const; ///< in the unit of column(); of a list of words its place, from 0
    bool listed() const { return !values_.empty(); }
    bool words() const; ///< a list with anything but numbers in it
    std::size_t parts()
        const; ///< of a grid: levels or length of the list; of a range of few whole numbers these
    std::size_t steps() const;        ///< the same for a chart of its effect
    std::string word(double x) const; ///< the value as a person reads it, of a range to four digits
    std::string column() const;       ///< "force (N)"

private:
    void read_range(const SweepFactor& factor, const Form& leaf, const Place& place);
    double at(double x) const;

    std::string name_, unit_; ///< unit as the values are written; empty: plain numbers
    std::string shown_unit_;
    bool logarithmic_ = false, whole_ = false;
    double low_ = 0, high_ = 0;
    std::size_t levels_ = 1;
    std::vector<nlohmann::json> values_;
};

} // namespace sparecoat::study
