// The set in 3D: WebGL 2, flat light, edges drawn, no library.
(function () {
  const canvas = document.getElementById("space-view");
  const gl = canvas.getContext("webgl2", { antialias: true, preserveDrawingBuffer: true });
  if (!gl) {
    canvas.hidden = true;
    document.getElementById("space-missing").hidden = false;
    document.querySelectorAll("#space .tools, #space .control, #space .parts").forEach((e) => (e.hidden = true));
    return;
  }

  const PLACE = `#version 300 es
    in vec3 steps; uniform vec3 low, size; uniform mat3 axes; uniform vec3 origin;
    uniform mat3 turn; uniform vec3 middle; uniform vec2 zoom; uniform float pointed;
    out vec3 seen;
    void main() {
      seen = turn * (axes * (low + steps * size) + origin - middle);
      gl_Position = vec4(seen.xy * zoom, -seen.z * 2e-4 - pointed, 1.0);
      gl_PointSize = 15.0;
    }`;
  const FACE = `#version 300 es
    precision highp float; in vec3 seen; uniform vec3 colour; out vec4 pixel;
    void main() {
      vec3 n = normalize(cross(dFdx(seen), dFdy(seen)));
      float light = 0.5 + 0.38 * abs(n.z) + 0.12 * n.y * sign(n.z);
      pixel = vec4(colour * light, 1.0);
    }`;
  const FLAT = `#version 300 es
    precision highp float; uniform vec3 colour; uniform bool round; out vec4 pixel;
    void main() {
      float far = length(gl_PointCoord - 0.5);
      if (round && far > 0.5) discard;
      pixel = vec4(round && far > 0.34 ? vec3(1.0) : colour, 1.0);
    }`;

  function program(vertex, fragment) {
    const p = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
      const s = gl.createShader(kind);
      gl.shaderSource(s, text);
      gl.compileShader(s);
      gl.attachShader(p, s);
    }
    gl.bindAttribLocation(p, 0, "steps");
    gl.linkProgram(p);
    const at = {};
    for (const name of ["low", "size", "axes", "origin", "turn", "middle", "zoom", "pointed", "colour", "round"])
      at[name] = gl.getUniformLocation(p, name);
    return { p, at };
  }
  const faces = program(PLACE, FACE);
  const lines = program(PLACE, FLAT);

  function bytes(text) {
    return Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;
  }

  // Sides where two triangles meet at more than 40 degrees, or one ends.
  function edges(mesh, points, triangles) {
    const at = (i, k) => points[3 * i + k] * mesh.step[k];
    const normals = [];
    const sides = new Map();
    for (let t = 0; t < triangles.length; t += 3) {
      const [a, b, c] = [triangles[t], triangles[t + 1], triangles[t + 2]];
      const u = [0, 1, 2].map((k) => at(b, k) - at(a, k));
      const v = [0, 1, 2].map((k) => at(c, k) - at(a, k));
      const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
      const l = Math.hypot(...n) || 1;
      normals.push(n.map((x) => x / l));
      for (const [p, q] of [[a, b], [b, c], [c, a]]) {
        const key = Math.min(p, q) * 4194304 + Math.max(p, q);
        const there = sides.get(key);
        if (there) there.push(t / 3);
        else sides.set(key, [t / 3]);
      }
    }
    const out = [];
    for (const [key, owners] of sides) {
      const [m, n] = [normals[owners[0]], normals[owners[1]]];
      if (!n || m[0] * n[0] + m[1] * n[1] + m[2] * n[2] < 0.76)
        out.push(Math.floor(key / 4194304), key % 4194304);
    }
    return new Uint32Array(out);
  }

  function buffer(kind, data) {
    const b = gl.createBuffer();
    gl.bindBuffer(kind, b);
    gl.bufferData(kind, data, gl.STATIC_DRAW);
    return b;
  }

  const meshes = set.meshes.map((mesh) => {
    const points = new Uint16Array(bytes(mesh.points));
    const triangles = Uint32Array.from(mesh.wide ? new Uint32Array(bytes(mesh.triangles)) : new Uint16Array(bytes(mesh.triangles)));
    const rims = edges(mesh, points, triangles);
    const side = (k) => {
      let most = 0;
      for (let i = k; i < points.length; i += 3) most = Math.max(most, points[i]);
      return mesh.low[k] + most * mesh.step[k];
    };
    return {
      low: mesh.low, step: mesh.step, high: [0, 1, 2].map(side),
      points: buffer(gl.ARRAY_BUFFER, points), count: triangles.length, rims: rims.length,
      faces: buffer(gl.ELEMENT_ARRAY_BUFFER, triangles), lines: buffer(gl.ELEMENT_ARRAY_BUFFER, rims),
    };
  });

  // The corners of a part's box in the engine frame.
  function corners(part) {
    const m = meshes[part.mesh], f = part.frame, out = [];
    for (let c = 0; c < 8; c++) {
      const p = [0, 1, 2].map((k) => ((c >> k) & 1 ? m.high[k] : m.low[k]));
      out.push([0, 1, 2].map((k) => f[k] * p[0] + f[3 + k] * p[1] + f[6 + k] * p[2] + f[9 + k]));
    }
    return out;
  }
  const parts = set.parts.map((p, i) => ({ ...p, i, on: true })).filter((p) => p.mesh !== null);
  const low = [1e9, 1e9, 1e9], high = [-1e9, -1e9, -1e9];
  for (const part of parts) {
    const z = corners(part).map((c) => {
      for (let k = 0; k < 3; k++) {
        low[k] = Math.min(low[k], c[k]);
        high[k] = Math.max(high[k], c[k]);
      }
      return c[2];
    });
    part.z = (Math.min(...z) + Math.max(...z)) / 2;
  }
  if (!parts.length) low.fill(0), high.fill(1);
  const centre = [0, 1, 2].map((k) => (low[k] + high[k]) / 2);
  const radius = Math.hypot(...[0, 1, 2].map((k) => high[k] - low[k])) / 2 || 1;

  const COLOURS = [[0.66, 0.72, 0.77], [0.85, 0.72, 0.42], [0.80, 0.80, 0.78], [0.52, 0.56, 0.60], [0.22, 0.24, 0.26]];
  const LIT = [0.95, 0.42, 0.10];
  const START = { yaw: -0.55, pitch: 0.35, near: 1.2 };
  const view = { ...START, apart: 0, lit: [], points: [] };
  let asked = false;

  function draw() {
    asked = false;
    const scale = Math.min(devicePixelRatio || 1, 2);
    const w = Math.max(1, Math.round(canvas.clientWidth * scale)), h = Math.max(1, Math.round(canvas.clientHeight * scale));
    if (canvas.width !== w || canvas.height !== h) {
      canvas.width = w;
      canvas.height = h;
    }
    gl.viewport(0, 0, w, h);
    gl.clearColor(0.925, 0.933, 0.937, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    const [sy, cy, sp, cp] = [Math.sin(view.yaw), Math.cos(view.yaw), Math.sin(view.pitch), Math.cos(view.pitch)];
    // Column by column: about the upright axis first, then tipped towards the viewer.
    const turn = [cy, sp * sy, -cp * sy, 0, cp, sp, sy, -sp * cy, cp * cy];
    // Drawn apart, the set is longer and stands farther off.
    const away = 1 + 1.1 * view.apart;
    const size = view.near / (radius * away);
    const zoom = w > h ? [(size * h) / w, size] : [size, (size * w) / h];
    const shift = (p) => 4 * view.apart * (p.z - centre[2]);
    for (const { p, at } of [faces, lines]) {
      gl.useProgram(p);
      gl.uniformMatrix3fv(at.turn, false, turn);
      gl.uniform3fv(at.middle, centre);
      gl.uniform2fv(at.zoom, zoom);
      gl.uniform1f(at.pointed, 0);
      if (at.round) gl.uniform1i(at.round, 0);
    }
    gl.enable(gl.POLYGON_OFFSET_FILL);
    gl.polygonOffset(1, 2);
    for (const pass of [faces, lines]) {
      gl.useProgram(pass.p);
      for (const part of parts) {
        if (!part.on) continue;
        const m = meshes[part.mesh], f = part.frame, lit = view.lit.includes(part.i);
        gl.bindBuffer(gl.ARRAY_BUFFER, m.points);
        gl.enableVertexAttribArray(0);
        gl.vertexAttribPointer(0, 3, gl.UNSIGNED_SHORT, false, 6, 0);
        gl.uniform3fv(pass.at.low, m.low);
        gl.uniform3fv(pass.at.size, m.step);
        gl.uniformMatrix3fv(pass.at.axes, false, f.slice(0, 9));
        gl.uniform3f(pass.at.origin, f[9], f[10], f[11] + shift(part));
        if (pass === faces) {
          gl.uniform3fv(pass.at.colour, lit ? LIT : COLOURS[part.kind]);
          gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, m.faces);
          gl.drawElements(gl.TRIANGLES, m.count, gl.UNSIGNED_INT, 0);
        } else {
          gl.uniform3fv(pass.at.colour, lit ? [0.4, 0.1, 0] : [0.16, 0.18, 0.2]);
          gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, m.lines);
          gl.drawElements(gl.LINES, m.rims, gl.UNSIGNED_INT, 0);
        }
      }
    }
    spots(shift);
  }

  // Points of the place shown, in front of everything.
  const spotBuffer = gl.createBuffer();
  function spots(shift) {
    if (!view.points.length) return;
    const owner = parts.find((p) => view.lit.includes(p.i));
    const data = new Float32Array(view.points.flatMap((p) => [p[0], p[1], p[2] + (owner ? shift(owner) : 0)]));
    const at = lines.at;
    gl.useProgram(lines.p);
    gl.disable(gl.DEPTH_TEST);
    gl.bindBuffer(gl.ARRAY_BUFFER, spotBuffer);
    gl.bufferData(gl.ARRAY_BUFFER, data, gl.DYNAMIC_DRAW);
    gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 0, 0);
    gl.uniform3f(at.low, 0, 0, 0);
    gl.uniform3f(at.size, 1, 1, 1);
    gl.uniformMatrix3fv(at.axes, false, [1, 0, 0, 0, 1, 0, 0, 0, 1]);
    gl.uniform3f(at.origin, 0, 0, 0);
    gl.uniform3fv(at.colour, [0.7, 0.23, 0]);
    gl.uniform1i(at.round, 1);
    gl.drawArrays(gl.POINTS, 0, view.points.length);
  }

  function redraw() {
    if (!asked) {
      asked = true;
      requestAnimationFrame(draw);
    }
  }
  function turnBy(yaw, pitch) {
    view.yaw += yaw;
    view.pitch = Math.max(-1.5707, Math.min(1.5707, view.pitch + pitch));
    redraw();
  }
  function nearer(by) {
    view.near = Math.max(0.3, Math.min(20, view.near * by));
    redraw();
  }
  const LOOKS = { front: [0, 0], side: [-Math.PI / 2, 0], top: [0, Math.PI / 2] };
  function look(name) {
    if (name === "reset") {
      Object.assign(view, START);
      document.getElementById("space-apart").value = 0;
      view.apart = 0;
    } else [view.yaw, view.pitch] = LOOKS[name];
    redraw();
  }

  const fingers = new Map();
  canvas.addEventListener("pointerdown", (e) => {
    canvas.setPointerCapture(e.pointerId);
    fingers.set(e.pointerId, [e.clientX, e.clientY]);
  });
  canvas.addEventListener("pointermove", (e) => {
    const from = fingers.get(e.pointerId);
    if (!from) return;
    const to = [e.clientX, e.clientY];
    const other = [...fingers].find(([id]) => id !== e.pointerId);
    if (other) {
      const apart = (p) => Math.hypot(p[0] - other[1][0], p[1] - other[1][1]) || 1;
      nearer(apart(to) / apart(from));
    } else turnBy((to[0] - from[0]) * 0.01, (to[1] - from[1]) * 0.01);
    fingers.set(e.pointerId, to);
  });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, (e) => fingers.delete(e.pointerId));
  canvas.addEventListener("wheel", (e) => {
    e.preventDefault();
    nearer(Math.exp(-e.deltaY * 0.0015));
  }, { passive: false });
  const KEYS = {
    ArrowLeft: () => turnBy(-0.1, 0), ArrowRight: () => turnBy(0.1, 0),
    ArrowUp: () => turnBy(0, -0.1), ArrowDown: () => turnBy(0, 0.1),
    "+": () => nearer(1.2), "=": () => nearer(1.2), "-": () => nearer(1 / 1.2), 0: () => look("reset"),
  };
  canvas.addEventListener("keydown", (e) => {
    if (KEYS[e.key] && !e.ctrlKey && !e.metaKey && !e.altKey) {
      e.preventDefault();
      KEYS[e.key]();
    }
  });
  document.querySelectorAll("[data-look]").forEach((b) => b.addEventListener("click", () => look(b.dataset.look)));
  document.querySelectorAll("[data-near]").forEach((b) =>
    b.addEventListener("click", () => nearer(b.dataset.near === "1" ? 1.25 : 0.8)));
  document.getElementById("space-apart").addEventListener("input", (e) => {
    view.apart = e.target.value / 100;
    redraw();
  });

  // Which parts are shown; a kind's box follows its parts.
  const boxes = [...document.querySelectorAll("[data-part]")];
  function shownParts() {
    for (const box of boxes) parts.find((p) => p.i === Number(box.dataset.part)).on = box.checked;
    document.querySelectorAll("[data-kind]").forEach((all) => {
      const mine = [...all.closest("fieldset").querySelectorAll("[data-part]")];
      all.checked = mine.every((b) => b.checked);
      all.indeterminate = !all.checked && mine.some((b) => b.checked);
    });
    redraw();
  }
  boxes.forEach((box) => box.addEventListener("change", shownParts));
  document.querySelectorAll("[data-kind]").forEach((all) => all.addEventListener("change", () => {
    all.closest("fieldset").querySelectorAll("[data-part]").forEach((b) => (b.checked = all.checked));
    shownParts();
  }));

  space = {
    light(lit, points) {
      Object.assign(view, { lit, points });
      redraw();
    },
  };
  addEventListener("beforeprint", draw);
  new ResizeObserver(redraw).observe(canvas);
  shownParts();
})();
