/* The core of the page: its data, small makers of elements, events, tabs, and the voice for screen readers. Other
 * scripts of the page build on window.dovetell, which this one makes. Text from the draft only ever goes through
 * textContent. */
'use strict';
(() => {
  const data = JSON.parse(document.getElementById('data').textContent);
  const listeners = new Map();

  /* el('button', {class: 'x', onclick: f}, 'text', child, ...): an element; attributes whose value is a function
   * listen. */
  function fill(element, attributes, children) {
    for (const [name, value] of Object.entries(attributes || {})) {
      if (typeof value === 'function') element.addEventListener(name.slice(2), value);
      else if (value !== false && value != null) element.setAttribute(name, value === true ? '' : value);
    }
    for (const child of children.flat()) if (child != null && child !== false) element.append(child);
    return element;
  }
  const el = (tag, attributes, ...children) => fill(document.createElement(tag), attributes, children);
  const svg = (tag, attributes, ...children) =>
    fill(document.createElementNS('http://www.w3.org/2000/svg', tag), attributes, children);

  function on(event, listener) {
    if (!listeners.has(event)) listeners.set(event, []);
    listeners.get(event).push(listener);
  }
  function emit(event, ...details) {
    for (const listener of listeners.get(event) || []) listener(...details);
  }

  /* ---- the voice ---- */
  const voice = el('p', {class: 'unseen', role: 'status', 'aria-live': 'polite'});
  const say = (text) => { voice.textContent = text; };

  /* ---- tabs ---- */
  const panel = document.getElementById('panel');
  const bar = el('div', {class: 'tabs', role: 'tablist', 'aria-label': 'Views'});
  const card = el('section', {id: 'card', 'aria-label': 'The picked piece', hidden: true});
  const tabs = [];
  let shown = null;

  function build(tab) {
    tab.built = true;
    if (tab.build) tab.build(tab.section);
  }
  function showTab(id, focus) {
    const tab = tabs.find((t) => t.id === id);
    if (!tab || tab === shown) return;
    if (shown) {
      shown.section.hidden = true;
      shown.button.setAttribute('aria-selected', 'false');
      shown.button.tabIndex = -1;
      document.documentElement.classList.remove('view-' + shown.id);
    }
    shown = tab;
    if (!tab.built) build(tab);
    tab.section.hidden = false;
    tab.button.setAttribute('aria-selected', 'true');
    tab.button.tabIndex = 0;
    document.documentElement.classList.add('view-' + id);
    if (focus) tab.button.focus();
    else tab.button.scrollIntoView({block: 'nearest', inline: 'nearest'});
    emit('tab', id);
  }

  function stepTab(event) {
    const steps = {ArrowRight: 1, ArrowLeft: -1};
    if (!(event.key in steps)) return;
    event.preventDefault();
    const next = (tabs.indexOf(shown) + steps[event.key] + tabs.length) % tabs.length;
    showTab(tabs[next].id, true);
  }

  /* A view: {id, title, count (shown after the title), build(section) once, when it is first shown; or section, ready
   * made}. */
  function addTab(tab) {
    tab.section = tab.section || el('section', {id: tab.id});
    tab.section.setAttribute('role', 'tabpanel');
    tab.section.setAttribute('aria-labelledby', 'tab-' + tab.id);
    tab.section.hidden = true;
    tab.button = el('button', {id: 'tab-' + tab.id, role: 'tab', type: 'button', 'aria-controls': tab.section.id,
      'aria-selected': 'false', tabindex: -1, onclick: () => showTab(tab.id), onkeydown: stepTab}, tab.title,
      tab.count ? el('span', {class: 'count'}, ' ' + tab.count) : null);
    tabs.push(tab);
    bar.append(tab.button);
    panel.append(tab.section);
  }

  /* The overview is printed with what its numbers mean. */
  window.addEventListener('beforeprint', () => {
    const faults = tabs.find((t) => t.id === 'faults');
    if (faults && !faults.built) build(faults);
  });

  const overview = document.getElementById('overview');
  panel.prepend(bar, card);
  document.body.append(voice);

  /* ---- the picked piece: an index from 0, or -1 ---- */
  let picked = -1;
  function pick(id) {
    const count = data.pieces.x.length;
    const next = Number.isInteger(id) && id >= 0 && id < count ? id : -1;
    if (next === picked) return;
    picked = next;
    emit('pick', picked);
  }

  /* A row of a list: a button with words and, at its end, a value (or nothing). */
  const row = (act, words, value) => el('button', {type: 'button', class: 'row', onclick: act}, el('span', {}, words),
    value == null ? null : el('span', {class: 'off'}, value));
  const number = (id) => id + 1;
  const mm = (value) => (Math.abs(value) < 9.995 ? value.toFixed(2) : value.toFixed(1)) + ' mm';
  function minutes(value) {
    if (value < 1.5) return Math.max(1, Math.round(60 * value)) + ' s';
    if (value < 60) return Math.round(value) + ' min';
    return (value / 60).toFixed(1) + ' h';
  }

  window.dovetell = {
    data, el, svg, on, emit, say, addTab, showTab, pick, row, number, mm, minutes, card,
    get picked() { return picked; },
    get tab() { return shown && shown.id; },
  };
  addTab({id: 'overview', title: 'Overview', section: overview});
})();
