layout(location = 0) in vec3 position;
out vec3 world;
out vec2 cell;

void main() {
    world = position;
    cell = cell_of(position.xy);
    gl_Position = view_projection * vec4(position, 1.0);
}
