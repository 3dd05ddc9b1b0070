/* The map: the draft's picture with pan, zoom, picking and marks on top. Positions are millimetres of the draft. The
 * picture is one svg whose viewBox is the view; marks live in a second svg of the same view, so that drawing a mark
 * never repaints thousands of pieces. While a large draft is moved the picture is only shifted and scaled as a whole,
 * and drawn anew when the hand rests. */
'use strict';
(() => {
  const {data, el, svg, on, emit, say, pick, number} = window.dovetell;
  const stage = document.getElementById('map'), sheet = document.getElementById('sheet');
  const pieces = document.getElementById('pieces');
  const paths = Array.from(pieces.querySelectorAll('path')).slice(0, data.pieces.x.length);
  const texts = Array.from(document.querySelectorAll('#numbers text'));
  const indexOf = new Map(paths.map((path, index) => [path, index]));
  const home = sheet.getAttribute('viewBox').split(' ').map(Number); /* x, y, width, height */
  const LARGE = 600;      /* pieces from which on the picture is shifted while it moves */
  const REST_MS = 140;
  const CLICK_PX = 6;     /* a pointer that moves less picks */
  const over = svg('svg', {id: 'over', 'aria-hidden': 'true'});
  stage.replaceChildren(el('div', {class: 'pane'}, sheet), el('div', {class: 'pane'}, over));

  /* ---- view ---- */
  let view = {x: home[0], y: home[1], w: home[2]}, drawn = null, resting = 0, frame = 0;
  let measured = {w: 1, h: 1};
  const size = () => measured; /* of the stage, pixels */
  const scale = () => size().w / view.w; /* pixels to the millimetre */

  const textHeights = texts.map((text) => Number(text.getAttribute('font-size')));
  const heights = data.pieces.numberHeight.slice().sort((a, b) => a - b);
  const usualHeight = heights[Math.floor(heights.length / 2)];
  const READABLE = 5.5;   /* height of a number in pixels */
  /* Where there are too many numbers for the picture itself: those in view. */
  function numbersInView(px) {
    if (usualHeight < READABLE * px) return [];
    const s = size(), p = data.pieces, right = view.x + view.w, low = view.y + view.w * s.h / s.w, marks = [];
    p.x.forEach((x, id) => {
      if (!p.numberHeight[id] || x < view.x || x > right || p.y[id] < view.y || p.y[id] > low) return;
      marks.push(svg(
        'text', {class: 'n', x, y: p.y[id] + 0.35 * p.numberHeight[id], 'font-size': p.numberHeight[id]}, number(id)));
    });
    return marks;
  }

  function setBox(element) {
    const s = size();
    element.setAttribute('viewBox', [view.x, view.y, view.w, view.w * s.h / s.w].map((v) => v.toFixed(4)).join(' '));
  }
  function settle() {
    resting = 0;
    setBox(sheet);
    sheet.style.transform = '';
    drawn = {...view};
    texts.forEach((text, at) => text.classList.toggle('tiny', textHeights[at] * scale() < READABLE));
    pieces.style.setProperty(
      '--cut', Math.min(0.25, 1.3 / scale()) + 'px'); /* true to scale, but never thick when seen closely */
    emit('view');
  }
  function refresh() {
    frame = 0;
    setBox(over);
    if (texts.length === 0) setLayer('numbers', numbersInView);
    drawMarks();
    if (paths.length < LARGE || !drawn) return settle();
    const k = drawn.w / view.w, pixels = scale();
    sheet.style.transform =
      'translate(' + (drawn.x - view.x) * pixels + 'px,' + (drawn.y - view.y) * pixels + 'px) scale(' + k + ')';
    clearTimeout(resting);
    resting = setTimeout(settle, REST_MS);
  }
  function look(next) {
    const widest = 4 * Math.max(home[2], home[3] * size().w / size().h);
    view = {...view, ...next};
    view.w = Math.min(Math.max(view.w, home[2] / 4000), widest);
    if (!frame) frame = requestAnimationFrame(refresh);
  }
  /* Shows a box [x0, y0, x1, y1] with some room around. */
  function showBox(box, room = 0.15) {
    const s = size(), w = Math.max(box[2] - box[0], 0.5), h = Math.max(box[3] - box[1], 0.5);
    const width = Math.max(w, h * s.w / s.h) * (1 + 2 * room);
    look({w: width, x: (box[0] + box[2] - width) / 2, y: (box[1] + box[3] - width * s.h / s.w) / 2});
  }
  const fit = () => showBox([home[0], home[1], home[0] + home[2], home[1] + home[3]], 0);
  /* Zooms by a factor about a place of the stage in pixels. */
  function zoom(factor, px, py) {
    const s = size(), at = {x: px == null ? s.w / 2 : px, y: py == null ? s.h / 2 : py};
    const before = scale(), w = view.w / factor, after = s.w / w;
    look({w, x: view.x + at.x / before - at.x / after, y: view.y + at.y / before - at.y / after});
  }
  const pan = (dx, dy) => look({x: view.x - dx / scale(), y: view.y - dy / scale()});
  function toDraft(event) {
    const r = stage.getBoundingClientRect();
    return {x: view.x + (event.clientX - r.left) / scale(), y: view.y + (event.clientY - r.top) / scale()};
  }

  /* ---- outlines ---- */
  const NUMBER = /-?(?:\d+\.?\d*|\.\d+)/g;
  const parsed = new Map();
  /* The rings of a piece as arrays of [x, y]: "Mx yl dx dy dx dy...z", ring after ring, each from its own start. */
  function rings(id) {
    if (parsed.has(id)) return parsed.get(id);
    const result = (data.fine[id] || paths[id].getAttribute('d')).split('z').filter(Boolean).map((ring) => {
      const n = ring.match(NUMBER).map(Number), points = [[n[0], n[1]]];
      for (let i = 2; i + 1 < n.length; i += 2) {
        const last = points[points.length - 1];
        points.push([last[0] + n[i], last[1] + n[i + 1]]);
      }
      return points;
    });
    parsed.set(id, result);
    return result;
  }
  const move = (m, p) => [m[0] * p[0] + m[2] * p[1] + m[4], m[1] * p[0] + m[3] * p[1] + m[5]];
  const STAY = [1, 0, 0, 1, 0, 0];
  const outline = (id, pose = STAY) => rings(id).map((ring) =>
    'M' + ring.map((p) => move(pose, p).map((v) => v.toFixed(3)).join(' ')).join('L') + 'z').join('');
  function boxOf(id, pose = STAY) {
    const box = [Infinity, Infinity, -Infinity, -Infinity];
    for (const p of rings(id)[0]) {
      const q = move(pose, p);
      box[0] = Math.min(box[0], q[0]); box[1] = Math.min(box[1], q[1]);
      box[2] = Math.max(box[2], q[0]); box[3] = Math.max(box[3], q[1]);
    }
    return box;
  }
  /* The border of two neighbours, as path data and its middle: neighbours are drawn through the very same points. */
  function border(a, b) {
    const key = (p) => Math.round(p[0] * 100) + ' ' + Math.round(p[1] * 100);
    const theirs = new Set(rings(b).flat().map(key)), runs = [];
    for (const ring of rings(a)) {
      const shared = ring.map((p) => theirs.has(key(p)));
      const start = shared.indexOf(false) + 1;
      let run = null;
      for (let i = 0; i < ring.length; i++) {
        const at = (start + i) % ring.length;
        if (!shared[at]) run = null;
        else if (run) run.push(ring[at]);
        else runs.push(run = [ring[at]]);
      }
    }
    const lines = runs.filter((run) => run.length > 1),
          longest = lines.reduce((x, y) => (y.length > x.length ? y : x), []);
    return {
      d: lines.map((run) => 'M' + run.map((p) => p.join(' ')).join('L')).join(''),
      middle: longest[Math.floor(longest.length / 2)]
    };
  }
  const joinBoxes = (a, b) => [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.max(a[2], b[2]), Math.max(a[3], b[3])];

  /* ---- marks: named layers, each a function that draws for the present scale ---- */
  const layers = new Map();
  function setLayer(name, draw) {
    if (!layers.has(name)) {
      const group = svg('g', {class: 'layer-' + name});
      over.append(group);
      layers.set(name, {group, draw: null});
    }
    layers.get(name).draw = draw;
    drawLayer(layers.get(name));
  }
  function drawLayer(layer) {
    layer.group.replaceChildren(...(layer.draw ? layer.draw(1 / scale()).filter(Boolean) : []));
  }
  function drawMarks() {
    for (const layer of layers.values()) drawLayer(layer);
  }
  /* A ring with a label (or without) that keeps its size on the screen; px = millimetres to the pixel. */
  function marker(kind, x, y, label, px, chosen) {
    const r = (chosen ? 15 : 10) * px, text = label == null ? '' : String(label),
          half = Math.max(9, 3.4 * text.length + 4) * px;
    const at = {x: x + 1.25 * r + half - 9 * px, y: y - 1.25 * r};
    return svg(
      'g', {class: 'marker ' + kind + (chosen ? ' chosen' : '')},
      svg('circle', {cx: x, cy: y, r, 'stroke-width': 2.5 * px}),
      text &&
        svg('rect', {class: 'disc', x: at.x - half, y: at.y - 9 * px, width: 2 * half, height: 18 * px, rx: 9 * px}),
      text && svg('text', {x: at.x, y: at.y + 4 * px, 'font-size': 11.5 * px}, text));
  }
  /* A short text beside a place, on a ground so that it can be read over anything. */
  function label(x, y, text, px) {
    const w = (7.2 * text.length + 14) * px, h = 22 * px;
    return svg('g', {class: 'label'}, svg('rect', {x: x + 12 * px, y: y - 30 * px, width: w, height: h, rx: 4 * px}),
      svg('path', {d: 'M' + x + ' ' + y + 'L' + (x + 14 * px) + ' ' + (y - 10 * px), 'stroke-width': 1.5 * px}),
      svg('circle', {cx: x, cy: y, r: 3 * px}),
      svg('text', {x: x + 12 * px + w / 2, y: y - 14.5 * px, 'font-size': 12 * px}, text));
  }

  /* ---- pointer: drag to move, two fingers to zoom, a tap to pick ---- */
  const fingers = new Map();
  let tapped = null, takers = [], grabbers = [], grab = null;
  const spread = () => {
    const [a, b] = Array.from(fingers.values());
    return {x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, d: Math.hypot(a.x - b.x, a.y - b.y) || 1};
  };
  const place = (event) => {
    const r = stage.getBoundingClientRect();
    return {x: event.clientX - r.left, y: event.clientY - r.top};
  };
  function pieceAt(event) {
    const target = document.elementsFromPoint(event.clientX, event.clientY).find((e) => indexOf.has(e));
    return target ? indexOf.get(target) : -1;
  }
  stage.addEventListener('pointerdown', (event) => {
    if (event.target.closest('.tools') || (event.button && event.pointerType === 'mouse')) return;
    stage.focus({preventScroll: true});
    stage.setPointerCapture(event.pointerId);
    if (grab) return;
    if (fingers.size === 0) for (const grabber of grabbers) grab = grab || grabber(event);
    if (grab) { grab.pointer = event.pointerId; return; }
    fingers.set(event.pointerId, place(event));
    tapped = fingers.size === 1 ? {...place(event), event} : null;
  });
  stage.addEventListener('pointermove', (event) => {
    if (grab && event.pointerId === grab.pointer) return grab.move(event);
    if (!fingers.has(event.pointerId)) return;
    const before = fingers.get(event.pointerId), now = place(event);
    if (tapped && Math.hypot(now.x - tapped.x, now.y - tapped.y) < CLICK_PX) return;
    tapped = null;
    if (fingers.size === 1) pan(now.x - before.x, now.y - before.y);
    if (fingers.size !== 2) { fingers.set(event.pointerId, now); return; }
    const a = spread();
    fingers.set(event.pointerId, now);
    const b = spread();
    pan(b.x - a.x, b.y - a.y);
    zoom(b.d / a.d, b.x, b.y);
  });
  function lift(event) {
    if (grab && event.pointerId === grab.pointer) {
      const {up} = grab;
      grab = null;
      return up(event);
    }
    if (!fingers.delete(event.pointerId)) return;
    if (event.type === 'pointerup' && tapped) pick(pieceAt(tapped.event));
    tapped = null;
  }
  stage.addEventListener('pointerup', lift);
  stage.addEventListener('pointercancel', lift);
  stage.addEventListener('wheel', (event) => {
    event.preventDefault();
    const p = place(event), lines = event.deltaMode === 1 ? 16 : 1;
    zoom(Math.exp(-event.deltaY * lines * 0.0018), p.x, p.y);
  }, {passive: false});
  stage.addEventListener('dblclick', (event) => { const p = place(event); zoom(2, p.x, p.y); });

  /* ---- keys ---- */
  function bringIntoView(id) {
    const s = size(), x = data.pieces.x[id], y = data.pieces.y[id], h = view.w * s.h / s.w;
    if (x < view.x || y < view.y || x > view.x + view.w || y > view.y + h) look({x: x - view.w / 2, y: y - h / 2});
  }
  function nearestToMiddle() {
    const s = size(), x = view.x + view.w / 2, y = view.y + view.w * s.h / s.w / 2;
    let best = 0, least = Infinity;
    data.pieces.x.forEach((px, id) => {
      const d = Math.hypot(px - x, data.pieces.y[id] - y);
      if (d < least) { least = d; best = id; }
    });
    return best;
  }
  function step(event) {
    const next = window.dovetell.picked + (event.shiftKey ? -1 : 1);
    if (window.dovetell.picked < 0 || next < 0 || next >= paths.length) return; /* Tab leaves the map */
    event.preventDefault();
    pick(next);
    bringIntoView(next);
  }
  const keys = {
    ArrowLeft: () => pan(60, 0), ArrowRight: () => pan(-60, 0), ArrowUp: () => pan(0, 60), ArrowDown: () => pan(0, -60),
    '+': () => zoom(1.4), '=': () => zoom(1.4), '-': () => zoom(1 / 1.4), 0: fit, Escape: () => pick(-1),
    Enter: () => { if (window.dovetell.picked < 0) pick(nearestToMiddle()); },
  };
  stage.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (takers.some((taker) => taker(event))) return;
    if (event.key === 'Tab') return step(event);
    if (!(event.key in keys)) return;
    event.preventDefault();
    keys[event.key]();
  });

  /* ---- set up ---- */
  document.documentElement.classList.remove('arriving');
  stage.tabIndex = 0;
  stage.setAttribute('role', 'application');
  stage.setAttribute(
    'aria-label',
    'The draft as ' + paths.length + ' pieces. Arrow keys move it, plus and minus zoom, 0 shows ' +
      'all. Enter picks a piece, Tab goes on to the next, Escape lets go.');
  const tool = (sign, name, act) => el('button', {type: 'button', 'aria-label': name, title: name, onclick: act}, sign);
  stage.append(el('div', {class: 'tools', role: 'group', 'aria-label': 'Zoom'}, tool('+', 'Closer', () => zoom(1.4)),
    tool('\u2212', 'Farther', () => zoom(1 / 1.4)), tool('\u2922', 'Show all', fit)));
  on('pick', (id) => {
    setLayer(
      'picked', id < 0 ? null : (px) => [svg('path', {class: 'picked', d: outline(id), 'stroke-width': 3 * px})]);
    if (id < 0) say('No piece picked.');
  });
  let width = 0, placed = false; /* placed: the view was set from outside before the stage was first measured */
  new ResizeObserver(() => {
    const s = {w: stage.clientWidth || 1, h: stage.clientHeight || 1};
    measured = s;
    for (const element
           of [sheet, over]) { /* in pixels: a size in percent lays out all pieces anew with every change beside them */
      element.style.width = s.w + 'px';
      element.style.height = s.h + 'px';
    }
    if (!width && placed) look({});
    else if (!width) fit();
    else look({w: view.w * s.w / width});
    width = s.w;
  }).observe(stage);
  /* Print shows the whole draft: the style sheet sets its box, preserveAspectRatio does the rest. */
  window.addEventListener('beforeprint', () => {
    sheet.setAttribute('viewBox', home.join(' '));
    over.setAttribute('viewBox', home.join(' '));
  });
  window.addEventListener('afterprint', () => { drawn = null; refresh(); });

  window.dovetell.map = {
    stage,
    sheet,
    over,
    paths,
    texts,
    home,
    rings,
    move,
    outline,
    border,
    boxOf,
    joinBoxes,
    setLayer,
    marker,
    label,
    showBox,
    fit,
    zoom,
    pan,
    toDraft,
    pieceAt,
    bringIntoView,
    number,
    /* Keys that another script wants first: f(event) returns true when it has used the key. */
    takeKeys: (f) => {
      takers = [...takers, f];
    },
    /* A drag that another script wants: f(event) returns {move, up}, or null to leave it to the map. */
    takePointer: (f) => {
      grabbers = [...grabbers, f];
    },
    get view() { return {...view}; },
    set view(next) {
      placed = true;
      look(next);
    },
  };
})();
