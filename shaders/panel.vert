#version 330 core
uniform mat4 view_projection;
uniform vec2 grid_corner, grid_size; // lower left of the grid's cells and their extent, m
layout(location = 0) in vec3 position;
out vec3 world;
out vec2 cell; // texture coordinate in the grid

void main() {
    world = position;
    cell = (position.xy - grid_corner) / grid_size;
    gl_Position = view_projection * vec4(position, 1.0);
}
