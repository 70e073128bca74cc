#pragma once
#include "picture/heatmap.hpp"
#include "plan/section.hpp"
#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <string>

namespace sparecoat::picture {

/// Draws what clears against what it costs: a curve for each first step over its sets, that of the
/// recommended sequence bold, the candidates on their way with what refines them, the target, and the
/// recorded looks with their 90 % error bars. For a panel that was advised on, with its outlooks. @throws
/// InputError where it cannot be written.
void draw_section_chart(const std::filesystem::path& png, const PanelAdvice& panel, const Target& target,
                        FilmUnit unit);

/// A panel's chart in the folder: "rear-door.png".
std::string chart_name(const PanelAdvice& panel);

/// Writes advice.json and the chart of every panel with outlooks into a folder that exists. @return the
/// document.
nlohmann::json write_section(const std::filesystem::path& folder, const SectionReport& report, FilmUnit unit);

} // namespace sparecoat::picture
