#pragma once

// The rooms of the source tree, and what each may name. A room sees the names of all rooms above it and of
// none below: "decide" may say Panel or panel::Panel, while "panel" cannot name a Verdict. Every header
// includes this file first, so that an arrow pointing up does not compile, whatever is included.

namespace sparecoat {
namespace units {}
namespace panel {
using namespace units;
}
namespace tool {
using namespace panel;
}
namespace sim {
using namespace tool;
}
namespace finish {
using namespace sim;
}
namespace decide {
using namespace finish;
}
namespace formats {
using namespace decide;
}
namespace library {
using namespace formats;
}
namespace run {
using namespace library;
}
namespace plan {
using namespace run;
}
namespace vehicle {
using namespace plan;
}
namespace study {
using namespace vehicle;
}
namespace picture {
using namespace study;
}
namespace view {
using namespace picture;
// The window's pages, a feature each, which see the rest of the view but not one another.
namespace board {}
namespace charts {}
namespace compare {}
namespace edge {}
namespace lamp {}
namespace lesson {}
namespace risk {}
namespace section {}
} // namespace view
namespace app { // puts the pages together
using namespace view;
using namespace view::board;
using namespace view::charts;
using namespace view::compare;
using namespace view::edge;
using namespace view::lamp;
using namespace view::lesson;
using namespace view::risk;
using namespace view::section;
} // namespace app
namespace cli {
using namespace app;
}
// Tests and benchmarks see everything.
namespace test {
using namespace cli;
}
namespace bench {
using namespace cli;
}
} // namespace sparecoat
