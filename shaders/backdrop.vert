#version 330 core
// One triangle over the whole viewport.
out vec2 place; // -1..1

void main() {
    place = vec2(gl_VertexID == 1 ? 3.0 : -1.0, gl_VertexID == 2 ? 3.0 : -1.0);
    gl_Position = vec4(place, 0.999999, 1.0);
}
