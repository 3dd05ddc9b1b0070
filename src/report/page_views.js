/* The views beside the map: faults, places, joints and necks, difficulty. Each lists what it shows, and marks it on the
 * map. */
'use strict';
(() => {
  const {data, el, svg, on, say, addTab, showTab, pick, row, number, mm, minutes, map, showFit} = window.dovetell;
  const p = data.pieces;
  const MOST = 30; /* items of a list before "show all" */

  /* A list of buttons; only the first MOST are made at once. make(item, index) gives the button. */
  function longList(items, make, ordered) {
    const list =
      el(ordered ? 'ol' : 'ul', {class: 'rows'}, items.slice(0, MOST).map((item, i) => el('li', {}, make(item, i))));
    if (items.length <= MOST) return [list];
    const more = el('button', {type: 'button', class: 'plain', onclick: () => {
      list.append(...items.slice(MOST).map((item, i) => el('li', {}, make(item, i + MOST))));
      more.remove();
    }}, 'Show all ' + items.length);
    return [list, more];
  }
  const around = (x, y, r) => [x - r, y - r, x + r, y + r];
  const usual = Math.sqrt(p.area.reduce((a, b) => a + b, 0) / Math.max(p.x.length, 1)); /* side of a usual piece, mm */

  /* ---- faults ---- */
  let fault = -1;
  const MOST_MARKS = 5000;
  /* Numbers that would lie over each other are one, "12 +3", and so are rings. The chosen fault keeps its own, on top.
   */
  function faultMarks(px) {
    const shown = data.faults.slice(0, MOST_MARKS).map((f, i) => ({...f, i, more: 0})), heads = [];
    /* Pixels: room for "1234 +56", rings over each other. */
    const [wide, same] = shown.length > 400 ? [60, 10] : [34, 3];
    for (const f of shown) {
      if (f.i === fault) continue;
      const near = heads.find((h) => Math.abs(h.x - f.x) < wide * px && Math.abs(h.y - f.y) < 18 * px);
      f.hidden = near && Math.hypot(near.x - f.x, near.y - f.y) < same * px;
      if (near) near.more++;
      else heads.push(f);
    }
    const labels = new Map(heads.map((f) => [f.i, f.i + 1 + (f.more ? ' +' + f.more : '')]));
    const marks = shown.filter((f) => f.i !== fault && !f.hidden).sort((a, b) => labels.has(a.i) - labels.has(b.i))
      .map((f) => map.marker('fault', f.x, f.y, labels.get(f.i), px, false));
    return fault < 0 ?
      marks :
      [...marks, map.marker('fault', data.faults[fault].x, data.faults[fault].y, fault + 1, px, true)];
  }
  function chooseFault(index) {
    fault = index;
    map.setLayer('faults', faultMarks);
    map.showBox(around(data.faults[index].x, data.faults[index].y, usual));
    say('Fault ' + (index + 1) + ' shown.');
  }
  function buildFaults(section) {
    if (!data.faults.length) return section.append(el('p', {}, 'No fault: every line cuts free.'));
    section.append(
      data.texts.scale ? el('p', {}, data.texts.scale) : '',
      data.faults.length > MOST_MARKS ?
        el('p', {}, 'The worst ' + MOST_MARKS + ' of ' + data.faults.length +
          ' are ringed; any other when you pick it.') :
        '',
      ...longList(data.faults, (f, i) => row(() => chooseFault(i), [
                                 el('b', {class: 'badge fault', 'aria-label': 'Fault ' + (i + 1)}, i + 1), ' ' + f.text
                               ])));
  }

  /* ---- places ---- */
  const ofKind = (kind, real = true) => data.fits.filter((fit) => fit.kind === kind && (fit.real ?? true) === real);
  const twins = ofKind('twin');
  const paired = Array.from(new Set(twins.flatMap((fit) => [fit.piece, fit.place])));
  const twinMarks = (px) => paired.flatMap(
    (id) =>
      [svg('path', {class: 'twin-ground', d: map.outline(id), 'stroke-width': 4.5 * px}),
       svg(
         'path',
         {class: 'twin', d: map.outline(id), 'stroke-width': 2.5 * px, 'stroke-dasharray': 7 * px + ' ' + 3 * px})]);
  function fitSection(title, note, list) {
    return list.length ? [el('h3', {}, title), el('p', {class: 'quiet'}, note),
      ...longList(list, (fit) => row(() => { pick(fit.piece); showFit(fit); }, fit.text))] : [];
  }
  /* ---- the other assembly: those that trade places in colour, each in the same one on both sides, all others plain
   * ---- */
  const COLOURS = 6, MARKS = 3; /* none, stripes, dots, once the colours are used up */
  const markOf = (i) => Math.floor(i / COLOURS) % MARKS;
  const shift = map.home[2];
  let otherShown = false, hideOther = () => {};
  function otherMarks(px) {
    const moved = (m, i, pose, x) => {
      const shape = {d: map.outline(m.piece, pose), transform: 'translate(' + x + ' 0)'};
      const over = markOf(i) ? svg('path', {...shape, class: 'over-' + markOf(i)}) : null;
      return [svg('path', {...shape, class: 'moved m' + i % COLOURS, 'stroke-width': 1.5 * px}), over];
    };
    const pattern = (id, ...marks) =>
      svg('pattern', {id, width: 8, height: 8, patternUnits: 'userSpaceOnUse',
                      patternTransform: 'scale(' + px + ') rotate(45)'}, ...marks);
    const label = (m, pose, x) => {
      const at = map.move(pose, [p.x[m.piece], p.y[m.piece]]), height = p.numberHeight[m.piece];
      return height < 5.5 * px ?
        null :
        svg(
          'text', {class: 'moved-number', x: at[0] + x, y: at[1] + 0.35 * height, 'font-size': height},
          number(m.piece));
    };
    const stay = [1, 0, 0, 1, 0, 0];
    return [
      pattern('stripes', svg('path', {class: 'stripe', d: 'M0 4H8'})),
      pattern('dots', svg('circle', {class: 'dot', cx: 4, cy: 4, r: 1.3})),
      svg('use', {href: '#pieces', x: shift}),
      ...data.other.flatMap((m, i) => [...moved(m, i, stay, 0), ...moved(m, i, m.pose, shift)]),
      ...data.other.flatMap((m) => [label(m, stay, 0), label(m, m.pose, shift)])
    ];
  }
  function toggleOther(button, list) {
    otherShown = !otherShown;
    button.setAttribute('aria-pressed', otherShown);
    list.hidden = !otherShown;
    document.documentElement.classList.toggle('beside', otherShown);
    if (otherShown) pick(-1);
    map.setLayer('other', otherShown ? otherMarks : null);
    const [x, y, w, h] = map.home;
    map.showBox([x, y, x + (otherShown ? 2 * w : w), y + h], 0);
    say(otherShown ? 'The other assembly is drawn on the right.' : 'The draft alone.');
  }
  function moveWords({piece, place, pose}) {
    const flipped = pose[0] * pose[3] - pose[1] * pose[2] < 0, f = flipped ? -1 : 1;
    const turn =
      Math.round(Math.atan2(f * pose[1], f * pose[0]) * 180 / Math.PI); /* clockwise, as y counts downwards */
    const turned = turn === 0 ? '' :
                                ', turned by ' + Math.abs(turn) + ' degrees' +
        (Math.abs(turn) === 180 ? '' :
           turn > 0             ? ' clockwise' :
                                  ' anticlockwise');
    return 'Piece ' + number(piece) +
      (place === piece ? ' in its own place' :
         place >= 0    ? ' in the place of ' + number(place) :
                         ' across several places') +
      turned + (flipped ? ', turned over' : '');
  }
  const swatch = (i) =>
    el('i', {class: 'swatch m' + i % COLOURS + ' marks-' + markOf(i), 'aria-hidden': 'true'});
  function otherSection() {
    if (!data.other.length) return [];
    const list = el(
      'div', {hidden: true},
      ...longList(data.other, (m, i) => row(() => {
                                const box = map.joinBoxes(
                                  map.boxOf(m.piece),
                                  map.boxOf(m.piece, m.pose).map((v, at) => (at % 2 ? v : v + shift)));
                                map.showBox(box, 0.05);
                                say(moveWords(m) + '.');
                              }, [swatch(i), moveWords(m)])));
    const button = el(
      'button', {type: 'button', class: 'plain', 'aria-pressed': 'false', onclick: () => toggleOther(button, list)},
      'The other way, beside the draft');
    hideOther = () => { if (otherShown) toggleOther(button, list); };
    return [button, list];
  }
  function buildPlaces(section) {
    const sides = data.alikeSides.slice().sort((a, b) => b[2] - a[2] || b[3] - a[3] || a[0] - b[0]);
    section.append(
      el('p', {}, data.texts.assembly + (data.texts.witness ? ' ' + data.texts.witness : '')), ...otherSection(),
      sides.length ?
        el('p', {class: 'quiet'}, 'The more a piece stands out on the map, the more ' +
        'pieces look right beside its neighbours.') :
        '',
      ...fitSection('Twins', 'Either piece drops into the place of the other.', twins),
      ...fitSection('Turners', 'They fit their own place another way.', ofKind('turner')),
      ...fitSection('False mates', 'A wrong piece sits along a whole seam.', ofKind('mate')),
      ...fitSection('Near twins', 'They look right until they are pushed in.', ofKind('near')),
      ...fitSection(
        'Only if turned over', 'No double fit on a sheet with a face, which shows.',
        [...ofKind('twin', false), ...ofKind('turner', false), ...ofKind('near', false)]));
    if (sides.length) section.append(el('h3', {}, 'Sides that look alike'),
      el('p', {class: 'quiet'}, 'How many pieces look right there, the true one included.'),
      ...longList(sides, ([place, across, k]) => row(() => { pick(place); map.bringIntoView(place); },
        'Piece ' + number(place) + (across >= 0 ? ', towards ' + number(across) : ''), k + ' candidates')));
    if (!data.fits.length && !sides.length) section.append(el('p', {}, 'No piece looks as if it went anywhere else.'));
  }

  /* ---- joints and necks ---- */
  function arrow(x, y, degrees, length, px) {
    const a = degrees * Math.PI / 180, dx = Math.cos(a), dy = -Math.sin(a), tip = [x + length * dx, y + length * dy];
    const wing = (side) =>
      (tip[0] - 9 * px * dx + side * 5 * px * -dy) + ' ' + (tip[1] - 9 * px * dy + side * 5 * px * dx);
    return svg('path', {class: 'arrow', 'stroke-width': 2.5 * px,
      d: 'M' + x + ' ' + y + 'L' + tip.join(' ') + 'M' + wing(1) + 'L' + tip.join(' ') + 'L' + wing(-1)});
  }
  /* A neck twice as wide as the sheet is thick is no weak spot. */
  const necks = p.neck.map((width, id) => ({width, id})).filter((n) => n.width != null && n.width < 2 * data.thickness)
    .sort((a, b) => a.width - b.width || a.id - b.id).slice(0, 12);
  function jointMarks(px) {
    const marks = data.joints.map((j) => svg('path', {class: 'joint ' + j.joint, d: j.d, 'stroke-width': 4 * px,
      'stroke-dasharray': j.joint === 'slides' ? 10 * px + ' ' + 5 * px : 2 * px + ' ' + 5 * px}));
    for (const id of data.loose) marks.push(svg('path', {class: 'loose', d: map.outline(id), 'stroke-width': 2 * px}));
    if (data.loose.length && data.looseDirection != null) {
      const id = data.loose[0];
      marks.push(arrow(p.x[id], p.y[id], data.looseDirection, 45 * px, px));
    }
    for (const n of necks)
      marks.push(
        svg('circle', {class: 'neck', cx: p.neckX[n.id], cy: p.neckY[n.id], r: 5 * px, 'stroke-width': 2 * px}));
    return marks;
  }
  function jointWords(j) {
    if (j.joint === 'free') return 'free';
    const degrees = (a) => ((Math.round(a) % 360) + 360) % 360;
    return 'slides ' +
      (j.to - j.from < 0.5 ? 'at ' + degrees(j.from) : 'from ' + degrees(j.from) + ' to ' + degrees(j.to)) + ' degrees';
  }
  function buildJoints(section) {
    section.append(el('p', {}, data.texts.interlock));
    if (data.joints.length)
      section.append(
        el('h3', {}, 'Joints that do not lock'),
        el(
          'p', {class: 'quiet'},
          'Long dashes slide one way, dots are free. Angles count from the right, against the clock.'),
        ...longList(data.joints, (j) => row(() => {
                                   pick(j.b);
                                   map.showBox(map.joinBoxes(map.boxOf(j.a), map.boxOf(j.b)));
                                 }, number(j.a) + ' and ' + number(j.b), jointWords(j))));
    if (necks.length) section.append(el('h3', {}, 'Narrowest necks'), ...longList(necks, (n) => row(() => {
      pick(n.id);
      map.showBox(around(p.neckX[n.id], p.neckY[n.id], Math.max(3 * n.width, 4)));
    }, 'Piece ' + number(n.id), mm(n.width))));
  }

  /* ---- difficulty ---- */
  const SHADES = 7;
  /* Gives each piece a class 0..6 of its value, by even steps of the logarithm between the least and the largest. */
  function shade(prefix, values) {
    const logs = values.map((v) => Math.log(Math.max(v, 1e-6))), low = Math.min(...logs), high = Math.max(...logs);
    const classOf = (id) => prefix + Math.min(SHADES - 1, Math.floor(SHADES * (logs[id] - low) / (high - low + 1e-9)));
    map.paths.forEach((path, id) => path.classList.add(classOf(id)));
    map.texts.forEach((text) => text.classList.add(classOf(Number(text.textContent) - 1)));
  }
  const shades = {
    difficulty: () => shade('h', p.minutes.map((v) => v || 0)),
    places: () => {
      const k = new Array(p.x.length).fill(1);
      for (const [place, , count] of data.alikeSides) k[place] += count - 1;
      if (data.alikeSides.length) shade('k', k);
    },
  };
  function factorBars() {
    const most = Math.max(...data.factors.map((f) => Math.abs(f.points)), 1);
    return el(
      'table', {class: 'bars'}, el('caption', {}, 'What makes it so: points, which add up'), data.factors.map((f) => {
        const bar = svg(
          'svg', {
            class: f.points < 0 ? 'less' : 'more',
            viewBox: '-100 0 200 10',
            preserveAspectRatio: 'none',
            'aria-hidden': 'true'
          },
          svg(
            'rect', {x: Math.min(0, 100 * f.points / most), y: 1, width: 100 * Math.abs(f.points) / most, height: 8}));
        return el(
          'tr', {}, el('th', {scope: 'row'}, f.name), el('td', {class: 'bar'}, bar),
          el(
            'td', {class: 'off'},
            (f.points > 0   ? '+' :
               f.points < 0 ? '\u2212' :
                              '') +
              Math.abs(f.points).toFixed(1)));
      }));
  }
  function buildDifficulty(section) {
    const known = p.minutes.map((value, id) => ({value, id})).filter((x) => x.value != null);
    known.sort((a, b) => b.value - a.value || a.id - b.id);
    section.append(el('p', {}, data.texts.difficulty + '.'), factorBars());
    if (!known.length) return;
    section.append(
      el('h3', {}, 'Places that take longest'),
      el(
        'p', {class: 'scale'}, minutes(known[known.length - 1].value),
        el(
          'span', {class: 'ramp', 'aria-hidden': 'true'},
          Array.from({length: SHADES}, (_, i) => el('i', {class: 'r' + i}))),
        minutes(known[0].value)),
      ...longList(known.slice(0, 15), (x) => row(() => {
                                        pick(x.id);
                                        map.bringIntoView(x.id);
                                      }, 'Piece ' + number(x.id), minutes(x.value))));
  }

  /* ---- the tabs, and what each puts on the map ---- */
  addTab({id: 'faults', title: 'Faults', count: data.faults.length, build: buildFaults});
  addTab({id: 'places', title: 'Places', count: twins.length, build: buildPlaces});
  addTab({id: 'joints', title: 'Joints', count: data.joints.length, build: buildJoints});
  addTab({id: 'difficulty', title: 'Difficulty', build: buildDifficulty});
  on('tab', (id) => {
    if (shades[id]) {
      shades[id]();
      delete shades[id];
    }
    const general = id === 'overview';
    map.setLayer('faults', general || id === 'faults' ? faultMarks : null);
    map.setLayer('twins', general || id === 'places' ? twinMarks : null);
    map.setLayer('joints', id === 'joints' ? jointMarks : null);
    if (id !== 'places') hideOther();
  });

  /* What a reload or a newer draft must not lose. */
  const panel = document.getElementById('panel');
  window.dovetell.state = () =>
    ({tab: window.dovetell.tab, picked: window.dovetell.picked, view: map.view, scrolled: panel.scrollTop});
  window.dovetell.restore = (state) => {
    showTab(state.tab);
    pick(state.picked);
    map.view = state.view;
    panel.scrollTop = state.scrolled;
  };
})();
