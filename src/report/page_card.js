/* The card of a picked piece: its figures, its neighbours, where else it would go and what else would go in its place;
 * and the drawing of such a fit on the map, true to scale, with what it is off by. */
'use strict';
(() => {
  const {data, el, svg, on, say, pick, row, number, mm, minutes, card, map} = window.dovetell;
  const p = data.pieces;
  const FLAGS = [[1, 'edge piece'], [2, 'corner'], [4, 'whimsy'], [8, 'small part'], [16, 'held by its neighbours']];

  /* Look-alike candidates as fits like the others: {kind, piece, place, beside, pose, off}. */
  const alike = data.alikeSides.flatMap(([place, beside, , long, list]) =>
    list.map(([piece, off, ...pose]) => ({kind: 'alike', piece, place, beside, long, pose, off})));
  const fits = [...data.fits, ...alike];
  const goes = new Map(), comes = new Map();
  const add = (index, key, fit) => { if (!index.has(key)) index.set(key, []); index.get(key).push(fit); };
  for (const fit of fits) {
    add(goes, fit.piece, fit);
    if (fit.kind !== 'turner') add(comes, fit.place, fit);
    if (fit.kind === 'twin' || fit.kind === 'near') { /* either way round */
      const back = {...fit, piece: fit.place, place: fit.piece, pose: inverse(fit.pose), x: null};
      const at = map.move(back.pose, [fit.x, fit.y]);
      back.x = at[0];
      back.y = at[1];
      add(goes, back.piece, back);
      add(comes, back.place, back);
    }
  }
  function inverse([a, b, c, d, e, f]) {
    const det = a * d - b * c;
    return [d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det];
  }

  /* ---- a fit on the map ---- */
  function drawFit(fit, px) {
    const whole = fit.kind !== 'alike' && fit.kind !== 'mate';
    const posed = map.outline(fit.piece, fit.pose), open = map.outline(fit.place);
    const marks = [svg('path', {class: 'place', d: open, 'stroke-width': 1.5 * px}),
      svg('path', {class: 'ghost', d: posed, 'stroke-width': 2 * px, 'stroke-dasharray': 6 * px + ' ' + 3 * px})];
    if (whole) marks.push(svg('path', {class: 'differ', d: open + posed, 'fill-rule': 'evenodd'}));
    let at = fit.x != null ? [fit.x, fit.y] : [p.x[fit.place], p.y[fit.place]];
    if (!whole && fit.beside >= 0) {
      const side = map.border(fit.place, fit.beside);
      marks.push(svg('path', {class: 'side', d: side.d, 'stroke-width': 4 * px}));
      at = side.middle || at;
    }
    marks.push(map.label(at[0], at[1], 'off by ' + mm(fit.off), px));
    return marks;
  }
  function showFit(fit) {
    if (!fit) return map.setLayer('fit', null);
    map.setLayer('fit', (px) => drawFit(fit, px));
    map.showBox(map.joinBoxes(map.boxOf(fit.place), map.boxOf(fit.piece, fit.pose)), 0.25);
    say(
      'Piece ' + number(fit.piece) + ' drawn in the place of piece ' + number(fit.place) + ', off by ' + mm(fit.off) +
      '.');
  }
  const showClose = (fit) => {
    const r = Math.max(8 * fit.off, 0.6);
    map.showBox([fit.x - r, fit.y - r, fit.x + r, fit.y + r], 0.2);
  };

  /* ---- the card ---- */
  function fitWords(fit, other) {
    const [a, b, c, d] = fit.pose, over = a * d - b * c < 0, own = fit.kind === 'turner';
    const way = fit.anyTurn ? ', at any turn' :
      over ? ', ' + (fit.real === false ? 'only if ' : '') + 'turned over' :
      own ? ', turned' : '';
    const where = (own ? 'its own place' : 'piece ' + number(other)) + way;
    const how = {twin: 'fits', turner: 'fits', near: 'nearly fits', mate: 'mates', alike: 'looks right'}[fit.kind];
    const beside =
      (fit.beside >= 0 ? ', beside ' + number(fit.beside) : '') + (fit.long ? ', along ' + mm(fit.long) : '');
    return [el('b', {class: 'kind ' + fit.kind + (fit.real === false ? ' unreal' : '')}, how), ' ' + where + beside];
  }
  const MOST = 12;
  function fitList(title, list, other) {
    if (!list || !list.length) return null;
    const rank = {twin: 0, turner: 1, mate: 2, near: 3, alike: 4};
    const sorted =
      list.slice().sort((a, b) => rank[a.kind] - rank[b.kind] || (b.long || 0) - (a.long || 0) || a.off - b.off);
    const items =
      sorted.slice(0, MOST).map((fit) => el('li', {}, row(() => choose(fit), fitWords(fit, other(fit)), mm(fit.off))));
    return [el('h3', {}, title), el('ul', {class: 'rows'}, items),
      sorted.length > MOST ? el('p', {class: 'quiet'}, 'and ' + (sorted.length - MOST) + ' more') : null];
  }
  function choose(fit) {
    showFit(fit);
    closer.hidden = fit.x == null;
    closer.onclick = () => showClose(fit);
  }
  const closer = el('button', {type: 'button', class: 'plain', hidden: true}, 'Closer to the largest difference');

  const entry = (term, text) => text == null ? null : [el('dt', {}, term), el('dd', {}, text)];
  function figures(id) {
    return el(
      'dl', {}, entry('Size', mm(p.length[id]) + ' \u00d7 ' + mm(p.width[id])), entry('Area', p.area[id] + ' mm\u00b2'),
      entry('Neck', p.neck[id] == null ? 'none' : mm(p.neck[id])),
      entry(
        'Found',
        p.minutes[id] == null ?
          null :
          'as number ' + number(p.turn[id]) + ' of ' + p.x.length + ', about ' + minutes(p.minutes[id]) + '; then ' +
            (p.alike[id] <= 1.05 ? 'nothing else looks like it' : p.alike[id].toFixed(1) + ' pieces look alike')));
  }
  function describe(id) {
    const flags = FLAGS.filter(([bit]) => p.flags[id] & bit).map(([, text]) => text);
    return flags.length ? flags.join(', ') : 'inner piece';
  }
  function show(id) {
    map.setLayer('fit', null);
    closer.hidden = true;
    card.hidden = id < 0;
    if (id < 0) return card.replaceChildren();
    const neighbours = p.around[id].map(
      (other) => el(
        'button', {
          type: 'button',
          class: 'chip',
          onclick: () => {
            pick(other);
            map.bringIntoView(other);
          },
          'aria-label': 'Piece ' + number(other)
        },
        number(other)));
    card
      .replaceChildren(
        ...
          [el(
             'button', {type: 'button', class: 'close', 'aria-label': 'Let go of the piece', onclick: () => pick(-1)},
             '\u00d7'),
           el('h2', {}, 'Piece ' + number(id)),
           el('p', {class: 'quiet'}, describe(id) + (p.name[id] ? ' \u00b7 \u201c' + p.name[id] + '\u201d' : '')),
           figures(id),
           neighbours.length ? el('p', {class: 'chips'}, 'Neighbours ', neighbours) : null,
           fitList('Where else it would go', goes.get(id), (fit) => fit.place),
           fitList('What else would go here', comes.get(id), (fit) => fit.piece),
           closer,
           !goes.has(id) && !comes.has(id) ?
             el('p', {class: 'quiet'}, 'It goes nowhere else, and nothing else goes here.') :
             null,
    ].flat().filter(Boolean));
    say(
      'Piece ' + number(id) + ', ' + describe(id) + ', ' + mm(p.length[id]) + ' by ' + mm(p.width[id]) + ', ' +
      p.around[id].length + ' neighbours' +
      (goes.has(id) ? ', would go in ' + goes.get(id).length + ' other places' : '') + '.');
  }
  on('pick', show);
  Object.assign(window.dovetell, {showFit, fits, goes});
})();
