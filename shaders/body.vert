#version 330 core
uniform mat4 view_projection;
layout(location = 0) in vec3 position;
layout(location = 1) in vec3 facing;
layout(location = 2) in vec2 disc; // m from the pad's axis, in the frame that turns with it
out vec3 world, normal;
out vec2 on_disc;

void main() {
    world = position;
    normal = facing;
    on_disc = disc;
    gl_Position = view_projection * vec4(position, 1.0);
}
