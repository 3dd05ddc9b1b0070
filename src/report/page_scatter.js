/* Where the loose pieces of a game lie at its beginning: round the board, none over another, turned at random, on a
 * table of the stage's proportions, so that all of it is seen at once. Greedy on a grid: each piece, the largest first,
 * takes the free spot that is nearest to the board; near is what enlarges the table least. */
'use strict';
(() => {
  const {data, map} = window.dovetell;
  const p = data.pieces, count = p.x.length;
  const usual = Math.sqrt(p.area.reduce((a, b) => a + b, 0) / Math.max(count, 1));
  const CELL = usual / 5;   /* of the grid, mm; pieces lie at least so far from each other */
  const LARGE = 2.2;        /* a piece longer than so many usual ones goes before the others */
  const STEP = 15;          /* degrees */

  const keyOf = (i, j) =>
    (i + 4096) * 8192 + j + 4096; /* one for each cell within 4,096 of the middle; a small integer */
  /* The cells that a piece covers when its middle lies in the middle of cell 0, 0: its border, and row by row what is
   * within. */
  function cellsOf(id, pose) {
    const cells = new Map(), put = (i, j) => cells.set(keyOf(i, j), [i, j]);
    const ring = map.rings(id)[0].map((q) => map.move(pose, q).map((v) => v / CELL + 0.5)), n = ring.length;
    let top = Infinity, low = -Infinity;
    ring.forEach(([x, y], at) => {
      const [nx, ny] = ring[(at + 1) % n], steps = Math.ceil(2 * Math.hypot(nx - x, ny - y)) || 1;
      for (let s = 0; s < steps; s++) put(Math.floor(x + (nx - x) * s / steps), Math.floor(y + (ny - y) * s / steps));
      top = Math.min(top, Math.floor(y));
      low = Math.max(low, Math.floor(y));
    });
    for (let j = top; j <= low; j++) {
      const y = j + 0.5, cuts = [];
      ring.forEach(([x, y0], at) => {
        const [nx, ny] = ring[(at + 1) % n];
        if (y0 > y !== ny > y) cuts.push(x + (y - y0) / (ny - y0) * (nx - x));
      });
      cuts.sort((a, b) => a - b);
      for (let c = 0; c + 1 < cuts.length; c += 2)
        for (let i = Math.ceil(cuts[c] - 0.5); i + 0.5 < cuts[c + 1]; i++) put(i, j);
    }
    return Array.from(cells.values());
  }
  /* With one cell more all round. */
  function grown(cells) {
    const more = new Map();
    for (const [i, j] of cells)
      for (let a = -1; a <= 1; a++)
        for (let b = -1; b <= 1; b++) more.set(keyOf(i + a, j + b), [i + a, j + b]);
    return Array.from(more.values());
  }

  /* A grid round the middle of the board, `high` mm to each side up and down; wide = width of the table to its height.
   * Round it runs a frame of taken cells, so wide that no piece with its middle within reaches beyond. */
  function gridOf(wide, high, frame) {
    const halfRows = Math.ceil(high / CELL), halfColumns = Math.ceil(high * wide / CELL);
    const columns = 2 * (halfColumns + frame), rows = 2 * (halfRows + frame),
          taken = new Uint8Array(rows * columns).fill(1);
    const [x, y, w, h] = map.home, left = x + w / 2 - columns / 2 * CELL, top = y + h / 2 - rows / 2 * CELL, spots = [];
    for (let j = frame; j < rows - frame; j++) taken.fill(0, j * columns + frame, (j + 1) * columns - frame);
    const takeBox = (x0, y0, x1, y1) => {
      for (let j = Math.floor((y0 - top) / CELL); j <= (y1 - top) / CELL; j++)
        for (let i = Math.floor((x0 - left) / CELL); i <= (x1 - left) / CELL; i++) taken[j * columns + i] = 1;
    };
    const far = new Float32Array(rows * columns);
    for (let j = frame; j < rows - frame; j++)
      for (let i = frame; i < columns - frame; i++) {
        far[j * columns + i] = Math.max(Math.abs(i + 0.5 - columns / 2) / wide, Math.abs(j + 0.5 - rows / 2));
        spots.push(j * columns + i);
      }
    spots.sort((a, b) => far[a] - far[b] || a - b);
    const middle = (at) => ({x: left + (at % columns + 0.5) * CELL, y: top + (Math.floor(at / columns) + 0.5) * CELL});
    return {taken, takeBox, middle, spots, columns};
  }

  /* Lays all pieces on a table with `corner` (mm, from its lower right) kept free; false where the grid is too small.
   */
  function lay(items, wide, high, table, corner) {
    const frame = 1 +
      items.reduce((most, {room}) => room.reduce((far, [i, j]) => Math.max(far, Math.abs(i), Math.abs(j)), most), 0);
    const {taken, takeBox, middle, spots, columns} = gridOf(wide, high, frame), [x, y, w, h] = map.home, cx = x + w / 2,
                                          cy = y + h / 2;
    takeBox(x, y, x + w, y + h);
    if (corner.w) takeBox(cx + wide * table - corner.w, cy + table - corner.h, cx + wide * high, cy + high);
    let first = 0;
    for (const item of items) {
      const room = Int32Array.from(item.room, ([i, j]) => j * columns + i);
      while (first < spots.length && taken[spots[first]]) first++;
      let at = first;
      while (at < spots.length && room.some((offset) => taken[spots[at] + offset])) at++;
      if (at === spots.length) return false;
      for (const [i, j] of item.cells) taken[spots[at] + j * columns + i] = 1;
      Object.assign(item.at, middle(spots[at]));
    }
    return true;
  }
  /* Half the height of the smallest table of these proportions round the middle of the board that holds everything. */
  function halfHeight(items, wide) {
    const [x, y, w, h] = map.home, cx = x + w / 2, cy = y + h / 2;
    return items.reduce((most, {at, box}) => Math.max(most, (cx - at.x - box[0]) / wide, (at.x + box[2] - cx) / wide,
      cy - at.y - box[1], at.y + box[3] - cy), Math.max(w / 2 / wide, h / 2));
  }

  /* anchor(id): the point of a piece that its place on the table is told by. stage {w, h} and corner {w, h} (kept free,
   * lower right) in pixels. Gives {places: [{x, y, angle, flipped}], box: [x0, y0, x1, y1]}. */
  function scatter(random, anchor, stage, corner) {
    const wide = stage.w / stage.h;
    const all = Array.from({length: count}, (_, id) => {
      const at =
        {x: 0, y: 0, angle: STEP * Math.floor(random() * 360 / STEP), flipped: data.twoSided && random() < 0.5};
      const turn = at.angle * Math.PI / 180, c = Math.cos(turn), s = Math.sin(turn), f = at.flipped ? -1 : 1,
            [ax, ay] = anchor(id);
      const pose = [f * c, f * s, -s, c, -f * c * ax + s * ay, -f * s * ax - c * ay], cells = cellsOf(id, pose),
            box = map.boxOf(id, pose);
      const size = Math.max(box[2] - box[0], box[3] - box[1]) / usual;
      return {at, cells, room: grown(cells), box, turn: size > LARGE ? -size : random()};
    });
    const items = all.slice().sort((a, b) => a.turn - b.turn);
    const [, , w, h] = map.home, cells = items.reduce((sum, item) => sum + item.room.length, 0);
    const guess = 1.1 * Math.sqrt((w * h + cells * CELL * CELL) / wide) / 2;
    const largest = Math.max(...items.map((item) => -item.turn), 1) * usual;
    let high = Math.max(guess, w / 2 / wide + largest, h / 2 + largest);
    const tableOf = (table, free) => {
      while (!lay(items, wide, high, table, free)) high *= 1.5;
      return halfHeight(items, wide);
    };
    const bare = tableOf(high, {w: 0, h: 0}), mm = 2 * bare / stage.h,
          half = 1.02 * tableOf(bare, {w: corner.w * mm, h: corner.h * mm});
    const [x, y] = map.home, cx = x + w / 2, cy = y + h / 2;
    return {places: all.map((item) => item.at), box: [cx - wide * half, cy - half, cx + wide * half, cy + half]};
  }
  window.dovetell.scatter = scatter;
})();
