# Writes the shaders into a source file, so that the program needs no file at run time.
#   cmake -DOUT=shaders.cpp -DSHADERS="a.vert;a.frag" -P EmbedShaders.cmake
# Each becomes `const char* const <name>_<stage>` in sparecoat::view::shaders (see src/view/render/shaders.hpp).
set(text "// Generated from shaders/.\n#include \"view/render/shaders.hpp\"\n\nnamespace sparecoat::view::shaders {\n\n")
foreach(file IN LISTS SHADERS)
  get_filename_component(name "${file}" NAME_WLE)
  get_filename_component(stage "${file}" LAST_EXT)
  string(SUBSTRING "${stage}" 1 -1 stage)
  file(READ "${file}" source)
  string(APPEND text "const char* const ${name}_${stage} = R\"glsl(${source})glsl\";\n\n")
endforeach()
string(APPEND text "} // namespace sparecoat::view::shaders\n")
file(WRITE "${OUT}" "${text}")
