/* Play: the pieces lie scattered round an empty board, and a person puts them together. A piece seats where it truly
 * fits: in its own place, but also wherever the analysis found that it would seat, so twins and false mates trap a
 * player as they would on the table. It needs something to seat against: the edge of the board or a piece that lies.
 * Poses are SVG matrices in the draft's millimetres. */
'use strict';
(() => {
  const {data, el, svg, on, emit, say, addTab, mm, map, goes, scatter} = window.dovetell;
  const p = data.pieces, count = p.x.length;
  const STEP = 15;          /* degrees that a piece turns at a time; page_scatter turns by it too */
  const ANGLE = 13;         /* degrees within which it slips into place: less than a step */
  const REACH_PX = 14;      /* how near it must be dropped, on the screen */
  const MOST = 600;         /* more pieces are no fun on a screen */
  const usual = Math.sqrt(p.area.reduce((a, b) => a + b, 0) / Math.max(count, 1));

  let game = null, held = -1, ticking = 0;

  /* ---- poses ---- */
  /* Round pieces, that fit at any turn, with their middles: the point that their turn leaves where it is. */
  const round =
    new Map(data.fits.filter((fit) => fit.anyTurn && fit.kind === 'turner').map(({piece, pose: [a, b, c, d, e, f]}) => {
      const det = (1 - a) * (1 - d) - b * c;
      return [piece, [((1 - d) * e + c * f) / det, ((1 - a) * f + b * e) / det]];
    }));
  const anchor = (id) => round.get(id) || [p.x[id], p.y[id]];
  const radians = (degrees) => degrees * Math.PI / 180;
  function matrixOf(t, id) {
    const c = Math.cos(radians(t.angle)), s = Math.sin(radians(t.angle)), f = t.flipped ? -1 : 1, [x, y] = anchor(id);
    const [a, b] = [f * c, f * s];
    return [a, b, -s, c, t.x - a * x + s * y, t.y - b * x - c * y];
  }
  /* A pose as place of the piece's anchor, angle and side. */
  function partsOf(m, id) {
    const flipped = m[0] * m[3] - m[1] * m[2] < 0, f = flipped ? -1 : 1, at = map.move(m, anchor(id));
    return {x: at[0], y: at[1], angle: Math.atan2(f * m[1], f * m[0]) * 180 / Math.PI, flipped};
  }
  const apart = (a, b) => Math.abs(((a - b) % 360 + 540) % 360 - 180);

  /* Where a piece may seat: {pose, place (whose place it takes, or -1), beside (a piece that must lie in its own place,
   * or -1)}. */
  function seatsOf(id) {
    const seats = [{pose: [1, 0, 0, 1, 0, 0], place: id, beside: -1}];
    for (const fit of goes.get(id) || [])
      if ((fit.kind === 'twin' || fit.kind === 'turner') && fit.real)
        seats.push({pose: fit.pose, place: fit.place, beside: -1});
      else if (fit.kind === 'mate') seats.push({pose: fit.pose, place: -1, beside: fit.beside});
    for (const other of data.other)
      if (other.piece === id) seats.push({pose: other.pose, place: other.place, beside: -1});
    return seats;
  }

  /* ---- does it lie free of the others? Points between a piece's middle and its outline stand for its body. ---- */
  const bodies = new Map();
  function bodyOf(id) {
    if (!bodies.has(id)) {
      const ring = map.rings(id)[0], step = Math.max(1, Math.floor(ring.length / 24));
      bodies.set(id, [
        [p.x[id], p.y[id]],
        ...ring.filter((_, i) => i % step === 0)
          .map(([x, y]) => [0.3 * p.x[id] + 0.7 * x, 0.3 * p.y[id] + 0.7 * y])
          .filter((q) => contains(id, q))
      ]);
    }
    return bodies.get(id);
  }
  function contains(id, [x, y]) {
    let inside = false;
    for (const ring of map.rings(id))
      for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
        const [xi, yi] = ring[i], [xj, yj] = ring[j];
        if (yi > y !== yj > y && x < xi + (y - yi) / (yj - yi) * (xj - xi)) inside = !inside;
      }
    return inside;
  }
  function inverse([a, b, c, d, e, f]) {
    const det = a * d - b * c;
    return [d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det];
  }
  const covers = (id, pose, point) => contains(id, map.move(inverse(pose), point));
  const meet = (a, b) => a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3];
  function isFree(id, pose) {
    const box = map.boxOf(id, pose);
    return game.items.every((item, other) => !item.seat || other === id || !meet(box, item.box) ||
      !(bodyOf(id).some((q) => covers(other, item.pose, map.move(pose, q))) ||
        bodyOf(other).some((q) => covers(id, pose, map.move(item.pose, q)))));
  }
  const liesAtHome = (id) => game.items[id].seat && game.items[id].seat.place === id;
  function hasHold(seat) {
    if (seat.beside >= 0) return liesAtHome(seat.beside);
    if (seat.place < 0 || !game.items.some((item) => item.seat) || p.flags[seat.place] & 1) return true;
    return p.around[seat.place].some((other) => game.items.some((item) => item.seat && item.seat.place === other));
  }
  /* The seat that a piece slips into from where it is held, or undefined. A round piece stays turned as it is. */
  function seatFor(id) {
    const item = game.items[id], reach = Math.max(REACH_PX * map.view.w / map.stage.clientWidth, 0.1 * usual);
    const seats = seatsOf(id).map((seat) => {
      const to = partsOf(seat.pose, id);
      return round.has(id) ?
        {...seat, pose: matrixOf({...item.at, x: to.x, y: to.y}, id), to: {...item.at, x: to.x, y: to.y}} :
        {...seat, to};
    });
    return seats.find(
      ({to, pose, ...seat}) => to.flipped === item.at.flipped && apart(to.angle, item.at.angle) <= ANGLE &&
        Math.hypot(to.x - item.at.x, to.y - item.at.y) <= reach && hasHold(seat) && isFree(id, pose));
  }

  /* ---- the table ---- */
  const table = svg('g', {class: 'play'});
  map.over.append(table);
  function show(id) {
    const item = game.items[id];
    item.pose = item.seat ? item.seat.pose : matrixOf(item.at, id);
    item.box = map.boxOf(id, item.pose);
    item.path.setAttribute('transform', 'matrix(' + item.pose.join(' ') + ')');
    item.path.setAttribute(
      'class',
      'loose-piece' + (item.seat ? ' seated' : '') + (id === held ? ' held' : '')); /* one colour: tints would tell */
  }
  const raise = (id) => { if (!game.items[id].seat) table.append(game.items[id].path); };
  function shuffled(random) {
    const order = Array.from({length: count}, (_, i) => i);
    for (let i = count - 1; i > 0; i--) {
      const j = Math.floor(random() * (i + 1));
      [order[i], order[j]] = [order[j], order[i]];
    }
    return order;
  }
  /* A small generator (linear congruential, Numerical Recipes), so that a test can have the same table again. */
  const randomFrom = (seed) => {
    let state = seed >>> 0;
    return () => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state / 4294967296;
    };
  };

  /* The stage, and of it what the zoom buttons cover. */
  const stageSize = () => ({w: map.stage.clientWidth || 1, h: map.stage.clientHeight || 1});
  function toolsSize() {
    const stage = map.stage.getBoundingClientRect(), tools = map.stage.querySelector('.tools').getBoundingClientRect();
    return {w: stage.right - tools.left, h: stage.bottom - tools.top};
  }
  function start(seed = Date.now()) {
    const {places, box} = scatter(randomFrom(seed), anchor, stageSize(), toolsSize());
    game = {
      tries: 0,
      spent: 0,
      since: performance.now(),
      over: false,
      items:
        places.map((at, id) => ({at, seat: null, pose: null, path: svg('path', {d: map.paths[id].getAttribute('d')})}))
    };
    game.order = shuffled(randomFrom(seed + 1));
    held = -1;
    const board = svg('path', {class: 'board', d: map.paths.map((path) => path.getAttribute('d')).join('')});
    table.replaceChildren(board, ...game.items.map((item) => item.path));
    game.items.forEach((_, id) => show(id));
    document.documentElement.classList.add('playing');
    map.showBox(box, 0);
    map.stage.focus({preventScroll: true});
    clearInterval(ticking);
    ticking = setInterval(tell, 1000);
    tell();
    say(
      count +
      ' pieces lie round the board. Tab takes the next one, arrows move it, comma and full stop turn it, ' +
      'Enter sets it down.');
  }
  function stop() {
    game = null;
    held = -1;
    clearInterval(ticking);
    table.replaceChildren();
    document.documentElement.classList.remove('playing', 'paused');
    map.fit();
    tell();
    emit('played');
  }
  const isPaused = () => game && game.since == null;
  const seconds = () => (game.spent + (game.since == null ? 0 : performance.now() - game.since)) / 1000;
  /* A loose piece is known by its place in the scatter: its number on the draft would tell where it goes. */
  const named = (id) => 'Loose piece ' + (game.order.indexOf(id) + 1);
  const placed = () => game.items.filter((item) => item.seat).length;
  function pause() {
    if (!game || game.over) return;
    if (isPaused()) game.since = performance.now();
    else { game.spent += performance.now() - game.since; game.since = null; }
    document.documentElement.classList.toggle('paused', isPaused());
    tell();
  }
  function end(finished) {
    game.spent += game.since == null ? 0 : performance.now() - game.since;
    game.since = null;
    game.over = true;
    document.documentElement.classList.remove('paused');
    clearInterval(ticking);
    result.replaceChildren(...resultOf(finished));
    tell();
    say(finished ? 'Done.' : 'Given up.');
    emit('played');
  }

  /* ---- what a hand does ---- */
  function take(id) {
    const before = held;
    held = id;
    if (before >= 0) show(before);
    if (id < 0) return;
    const item = game.items[id];
    if (item.seat) { item.at = partsOf(item.pose, id); item.seat = null; }
    raise(id);
    show(id);
  }
  function turn(steps) { if (held >= 0) { game.items[held].at.angle += STEP * steps; show(held); } }
  function flip() {
    if (held >= 0 && data.twoSided) {
      game.items[held].at.flipped = !game.items[held].at.flipped;
      show(held);
    }
  }
  function shift(dx, dy) { if (held >= 0) { game.items[held].at.x += dx; game.items[held].at.y += dy; show(held); } }
  function setDown() {
    if (held < 0) return;
    const id = held, item = game.items[id], [x, y, w, h] = map.home;
    if (item.at.x > x && item.at.x < x + w && item.at.y > y && item.at.y < y + h) {
      game.tries++;
      item.seat = seatFor(id) || null;
      if (item.seat) {
        held = -1;
        table.insertBefore(item.path, table.children[1] || null);
      }
      say(named(id) + (item.seat ? ' seats. ' : ' does not seat. ') + placed() + ' of ' + count + ' lie.');
    }
    show(id);
    tell();
    if (placed() === count) end(true);
  }
  function under(point) {
    const at = [point.x, point.y], order = Array.from(table.children),
          height = (id) => order.indexOf(game.items[id].path);
    const hit = game.items.map((_, id) => id)
                  .filter((id) => meet(game.items[id].box, [...at, ...at]) && covers(id, game.items[id].pose, at));
    return hit.reduce((top, id) => (top < 0 || height(id) > height(top) ? id : top), -1);
  }
  const playing = () => game && !game.over && !isPaused() && window.dovetell.tab === 'play';
  /* A piece in the hand: a second finger or the wheel turns it, a tap only picks it, two taps turn it thrice. */
  const SLIP_PX = 5, TAPS_MS = 350;
  let hand = null, lastTap = {id: -1, time: 0};
  const angleTo = (event) =>
    Math.atan2(event.clientY - hand.at.clientY, event.clientX - hand.at.clientX) * 180 / Math.PI;
  function tap(id, seat, time) {
    const again = lastTap.id === id && time - lastTap.time < TAPS_MS;
    lastTap = {id, time};
    if (again) turn(3);
    else if (seat) { game.items[id].seat = seat; held = -1; show(id); }
  }
  map.takePointer((event) => {
    if (!playing()) return null;
    const from = map.toDraft(event), id = under(from);
    const seat = id < 0 ? null : game.items[id].seat;
    take(id);
    if (id < 0) return null;
    const {x, y} = game.items[id].at;
    hand = {id, at: event, pointer: event.pointerId, moved: false, second: null};
    return {
      move: (next) => {
        const to = map.toDraft(next);
        hand.moved = hand.moved || Math.hypot(next.clientX - event.clientX, next.clientY - event.clientY) >= SLIP_PX;
        hand.at = next;
        if (!hand.moved) return;
        Object.assign(game.items[id].at, {x: x + to.x - from.x, y: y + to.y - from.y});
        show(id);
      },
      up: (last) => {
        const {moved} = hand;
        hand = null;
        if (moved) setDown();
        else tap(id, seat, last.timeStamp);
      },
    };
  });
  const early = (type, act) => map.stage.addEventListener(type, (event) => {
    if (!act(event)) return;
    event.preventDefault();
    event.stopPropagation();
  }, {capture: true, passive: false});
  function turnBy(degrees) {
    hand.moved = true;
    game.items[hand.id].at.angle += degrees;
    show(hand.id);
  }
  early('wheel', (event) => {
    if (!hand) return false;
    turnBy(event.deltaY * (event.deltaMode === 1 ? 16 : 1) * STEP / 100);
    return true;
  });
  early('pointerdown', (event) => {
    if (!hand || event.pointerId === hand.pointer) return false;
    hand.second = {pointer: event.pointerId, angle: angleTo(event)};
    return true;
  });
  early('pointermove', (event) => {
    if (!hand || !hand.second || event.pointerId !== hand.second.pointer) return false;
    const angle = angleTo(event);
    turnBy(((angle - hand.second.angle) % 360 + 540) % 360 - 180);
    hand.second.angle = angle;
    return true;
  });
  early('dblclick', () => playing()); /* two taps turn here; elsewhere on the map they zoom */
  function nextLoose(by) {
    const from = held >= 0 ? game.order.indexOf(held) : by > 0 ? -1 : count;
    for (let i = 1; i <= count; i++) {
      const id = game.order[(from + by * i + 2 * count) % count];
      if (!game.items[id].seat) return id;
    }
    return -1;
  }
  map.takeKeys((event) => {
    if (!playing()) return false;
    const far = (event.shiftKey ? 40 : 6) * map.view.w / map.stage.clientWidth;
    const keys = {
      Tab: () => {
        const id = nextLoose(event.shiftKey ? -1 : 1);
        take(id);
        if (id >= 0) say(named(id) + ' in hand, ' + mm(p.length[id]) + ' by ' + mm(p.width[id]) + '.');
      },
      Enter: setDown,
      ' ': setDown,
      ',': () => turn(-1),
      '.': () => turn(1),
      f: flip,
      Escape: () => take(-1)
    };
    if (held >= 0)
      Object.assign(keys, {
        ArrowLeft: () => shift(-far, 0),
        ArrowRight: () => shift(far, 0),
        ArrowUp: () => shift(0, -far),
        ArrowDown: () => shift(0, far)
      });
    if (!(event.key in keys) || (event.key === 'Escape' && held < 0)) return false;
    event.preventDefault();
    keys[event.key]();
    return true;
  });

  /* ---- the panel ---- */
  const button = (words, act) => el('button', {type: 'button', class: 'plain', onclick: act}, words);
  const status = el('p', {class: 'tally'}), result = el('div', {});
  const starter = button('Scatter the pieces', () => start()), pauser = button('Pause', pause),
        ender = button('Give up', () => end(false));
  const turners = el(
    'div', {class: 'hand', role: 'group', 'aria-label': 'The piece in hand'}, button('Turn \u21ba', () => turn(-1)),
    button('Turn \u21bb', () => turn(1)), data.twoSided ? button('Turn over', flip) : null);
  const closer = button('Put the pieces away', stop);
  const clock = (s) => Math.floor(s / 60) + ':' + String(Math.floor(s % 60)).padStart(2, '0');
  function tell() {
    status.textContent =
      game ? placed() + ' of ' + count + ' lie \u00b7 ' + game.tries + ' tries \u00b7 ' + clock(seconds()) : '';
    starter.textContent = game ? 'Scatter anew' : 'Scatter the pieces';
    for (const e of [pauser, ender, turners]) e.hidden = !game || game.over;
    closer.hidden = !game;
    result.hidden = !game || !game.over;
    pauser.textContent = isPaused() ? 'Go on' : 'Pause';
  }
  const quoted = (text) => (/[",\n]/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text);
  function copier(line) {
    const note = el('span', {role: 'status'});
    const select = () => {
      window.getSelection().selectAllChildren(line);
      note.textContent = ' Press Ctrl+C to copy it.';
    };
    const copy = () => navigator.clipboard ? navigator.clipboard.writeText(line.textContent).then(() => {
      note.textContent = ' Copied.';
    }, select) : select();
    return [button('Copy the line', copy), note];
  }
  /* One line as `dovetell learn` reads it; only a first solve tells how hard a puzzle is. */
  function resultOf(finished) {
    const wrong = game.items.filter((item, id) => item.seat && item.seat.place !== id).length;
    const name = el('input', {id: 'solver', value: 'me', autocomplete: 'off'});
    const line = el('output', {for: 'solver', class: 'line'});
    const write = () => {
      line.textContent = [data.file.split('/').pop(), name.value.trim() || 'me', (game.spent / 60000).toFixed(2),
        finished ? 'yes' : 'no'].map(quoted).join(',');
    };
    name.addEventListener('input', write);
    write();
    return [el('h3', {}, finished ? 'Done' : 'Given up'),
      el('p', {}, clock(seconds()) + ', ' + game.tries + ' tries for ' + placed() + ' pieces.' +
        (wrong ? ' ' + wrong + ' of them lie in a place that was not drawn for them.' : '')),
      el('p', {}, el('label', {for: 'solver'}, 'Solver '), name),
      el('p', {class: 'quiet'},
        'For your TIMES.csv (draft,solver,minutes,finished), if this was the first go at it:'),
      el('p', {}, line), el('p', {}, copier(line)),
      el('p', {class: 'quiet'}, 'A time on a screen is not a time at a table: keep a table of its own for each.')];
  }
  function build(section) {
      section.append(
        el(
          'p', {},
          'The pieces lie round the empty board, turned at random' +
            (data.twoSided ? ', some of them turned over' : '') +
            '. Drag one to where it belongs; it seats where it truly fits, be it the wrong place. ' +
            'The wheel, a second finger or a double tap turns it.'),
        el(
          'p', {class: 'quiet'},
          'Keys on the board: Tab takes the next piece, arrows move it, comma and full stop turn it' +
            (data.twoSided ? ', F turns it over' : '') + ', Enter sets it down, Escape lets go.'),
        el('p', {}, starter, ' ', pauser, ' ', ender, ' ', closer), turners, status, result);
      tell();
  }
  if (count > 1 && count <= MOST) addTab({id: 'play', title: 'Play', build});
  on('tab', (id) => document.documentElement.classList.toggle('away', id !== 'play'));
  window.dovetell.showTab('overview');
  window.dovetell.play = {start, stop, pause, seatsOf, turn, get game() {
      return game; }, get underWay() {
      return game !== null && !game.over; }};
  })();
