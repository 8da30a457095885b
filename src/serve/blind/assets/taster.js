// A taster's page. What is typed is a draft; what is sent waits in the outbox until the server says that
// it is on disk. Both are kept by the browser, apart: a half-typed cup is never sent.
'use strict';
(() => {
  const main = document.querySelector('main');
  const form = document.getElementById('answer');
  const path = main.dataset.path;
  const heads = [...document.querySelectorAll('section.head')];
  const byId = id => document.getElementById(id);
  const headOf = at => heads.find(head => head.dataset.at === at);
  const linkOf = at => [...document.querySelectorAll('[data-to]')].find(link => link.dataset.to === at);

  // ---- what the browser keeps
  const prefix = 'waterflight:' + main.dataset.store + ':';
  const memory = new Map();
  let disk = null;
  try {
    const probe = prefix + 'probe';
    localStorage.setItem(probe, '1');
    localStorage.removeItem(probe);
    disk = localStorage;
  } catch (error) {
    byId('no-store').hidden = false;
  }
  const keys = () => (disk ? Object.keys(disk) : [...memory.keys()]).filter(key => key.startsWith(prefix)).sort();
  const get = key => {
    const text = disk ? disk.getItem(key) : memory.get(key);
    try { return text ? JSON.parse(text) : null; } catch (error) { return null; }
  };
  const set = (key, value) => {
    const text = JSON.stringify(value);
    if (disk) {
      try { disk.setItem(key, text); return; } catch (error) { byId('no-store').hidden = false; }
    }
    memory.set(key, text);
  };
  const drop = key => { memory.delete(key); if (disk) disk.removeItem(key); };
  const draftKey = at => prefix + 'draft:' + at;
  const drafts = () => keys().filter(key => key.startsWith(prefix + 'draft:'));
  const waiting = () => keys().filter(key => key.startsWith(prefix + 'out:'));
  const waitingFor = at => waiting().filter(key => (get(key) || {}).at === at);

  // ---- the form
  let current = (heads.find(head => !head.hidden) || heads[0] || { dataset: {} }).dataset.at;
  const fieldsOf = () => {
    const fields = [];
    new FormData(form).forEach((value, name) => {
      if (name !== 'at' && name !== 'seen' && String(value).trim() !== '') fields.push([name, String(value)]);
    });
    return fields;
  };
  const fill = fields => {
    for (const input of form.elements) {
      if (!input.name || input.type === 'hidden') continue;
      const values = fields.filter(([name]) => name === input.name).map(([, value]) => value);
      if (input.type === 'radio' || input.type === 'checkbox') input.checked = values.includes(input.value);
      else input.value = values.length ? values[values.length - 1] : '';
    }
  };
  const same = (a, b) => {
    const sorted = fields => JSON.stringify([...fields].sort());
    return sorted(a) === sorted(b);
  };
  const standing = head => JSON.parse(head.dataset.fields || '[]');
  const lastOf = at => { const list = waitingFor(at); return list.length ? get(list[list.length - 1]) : null; };

  const stateOf = at => {
    const head = headOf(at), draft = get(draftKey(at));
    if (draft && draft.reason) return ['refused', 'refused: ' + draft.reason];
    if (draft) return ['draft', 'draft, not sent'];
    if (waitingFor(at).length) return ['waiting', 'waiting to be sent'];
    if (head && head.dataset.line) {
      const part = head.dataset.open === 'true' ? 'in part on disk, line ' : 'on disk, line ';
      return ['on_disk', part + head.dataset.line];
    }
    return ['open', 'open'];
  };
  const paint = () => {
    for (const head of heads) {
      const [state, words] = stateOf(head.dataset.at), link = linkOf(head.dataset.at);
      if (!link) continue;
      link.dataset.state = state;
      const status = link.querySelector('.status');
      if (status.textContent !== words) status.textContent = words;
      if (head.dataset.at === current) link.setAttribute('aria-current', 'page');
      else link.removeAttribute('aria-current');
    }
    if (!current) return;
    const [state, words] = stateOf(current), shown = byId('state'), refused = byId('refused');
    const text = state === 'open' || state === 'refused' ? '' : words[0].toUpperCase() + words.slice(1) + '.';
    shown.dataset.state = state;
    if (shown.textContent !== text) shown.textContent = text;
    refused.hidden = state !== 'refused';
    if (state === 'refused') {
      const why = 'Refused: ' + get(draftKey(current)).reason + '.';
      if (refused.textContent !== why) refused.textContent = why;
    }
    byId('all-done').hidden = !heads.every(head => head.dataset.open === 'false') || !byId('revealed').hidden;
  };

  // Shows a place of the same kind of form; another kind is fetched.
  const show = (at, scroll) => {
    const head = headOf(at);
    if (!head || !form || head.dataset.kind !== main.dataset.kind) { location.href = path + '?at=' + at; return; }
    current = at;
    heads.forEach(other => { other.hidden = other !== head; });
    const codes = head.dataset.codes.split(' ');
    form.querySelectorAll('[data-code]').forEach(label => { label.textContent = codes[Number(label.dataset.code)]; });
    const draft = get(draftKey(at)), sent = lastOf(at);
    form.elements.at.value = at;
    form.elements.seen.value = draft ? draft.seen : head.dataset.seen;
    fill(draft ? draft.fields : sent ? sent.fields : standing(head));
    history.replaceState(null, '', path + '?at=' + at);
    paint();
    if (scroll) window.scrollTo(0, 0);
  };
  const nextAfter = at => {
    const start = heads.findIndex(head => head.dataset.at === at);
    const around = heads.slice(start + 1).concat(heads.slice(0, start + 1));
    const open = around.find(head => head.dataset.open === 'true' && !waitingFor(head.dataset.at).length);
    return open ? open.dataset.at : at;
  };

  if (form) {
    form.addEventListener('input', event => {
      const input = event.target;
      // No ties, and never more cups than are asked for: the newest tap counts.
      if (input.type === 'radio' && input.closest('[data-ranked]')) {
        form.querySelectorAll('[data-ranked] input:checked').forEach(other => {
          if (other !== input && other.name !== input.name && other.value === input.value) other.checked = false;
        });
      }
      const wanted = input.closest('[data-wanted]');
      if (wanted && input.type === 'checkbox') {
        const over = [...wanted.querySelectorAll('input:checked')].filter(other => other !== input);
        while (over.length >= Number(wanted.dataset.wanted)) over.shift().checked = false;
      }
      const head = headOf(current), fields = fieldsOf(), before = get(draftKey(current));
      const base = lastOf(current) ? lastOf(current).fields : standing(head);
      if (same(fields, base)) drop(draftKey(current));
      else set(draftKey(current), { fields, seen: before ? before.seen : Number(head.dataset.seen) });
      paint();
    });
    let serial = 0;
    form.addEventListener('submit', event => {
      event.preventDefault();
      const wanted = form.querySelector('[data-wanted]');
      const few = wanted && wanted.querySelectorAll('input:checked').length !== Number(wanted.dataset.wanted);
      if (!form.reportValidity()) return;
      if (few) {
        byId('state').textContent = 'Choose ' + wanted.dataset.wanted + '.';
        return;
      }
      const head = headOf(current), draft = get(draftKey(current)), at = current, fields = fieldsOf();
      const base = lastOf(at) ? lastOf(at).fields : standing(head);
      // A second press of the button, or nothing changed: it is on its way or there already.
      if (same(fields, base) && !(draft && draft.reason)) {
        if (waitingFor(at).length || head.dataset.line) { show(nextAfter(at), true); return; }
      }
      serial += 1;
      const stamp = String(Date.now()).padStart(15, '0') + '-' + String(serial).padStart(4, '0');
      const chance = Math.random().toString(36).slice(2, 8);
      set(prefix + 'out:' + stamp + '-' + chance, { at, fields, seen: draft ? draft.seen : Number(head.dataset.seen) });
      drop(draftKey(at));
      flush();
      show(nextAfter(at), true);
    });
    document.querySelector('nav').addEventListener('click', event => {
      const link = event.target.closest('[data-to]');
      if (!link || event.metaKey || event.ctrlKey) return;
      event.preventDefault();
      show(link.dataset.to, true);
    });
  }

  // ---- the outbox
  const ask = (url, options) => {
    const stop = new AbortController(), timer = setTimeout(() => stop.abort(), 8000);
    return fetch(url, { cache: 'no-store', credentials: 'omit', signal: stop.signal, ...options })
      .finally(() => clearTimeout(timer));
  };
  // What was seen of a place by whatever of it is still to be sent or typed on.
  const seenNow = (at, seen) => {
    for (const key of waitingFor(at)) set(key, { ...get(key), seen });
    const draft = get(draftKey(at));
    if (draft) set(draftKey(at), { ...draft, seen });
    const head = headOf(at);
    if (head) head.dataset.seen = seen;
  };
  let busy = false;
  const flush = async () => {
    if (busy) return;
    busy = true;
    try {
      for (let list = waiting(); list.length; list = waiting()) {
        const key = list[0], entry = get(key);
        if (!entry) { drop(key); continue; }
        const body = new URLSearchParams(entry.fields.concat([['at', entry.at], ['seen', String(entry.seen)]]));
        const response = await ask(path + '/answer', { method: 'POST', body, headers: { Accept: 'application/json' } });
        if (response.status === 404) {
          byId('refused').hidden = false;
          byId('refused').textContent = 'This link leads nowhere any more. Ask the host for a new one and open it on this phone: what waits here is then sent.';
          return;
        }
        if (![200, 409, 422].includes(response.status)) return;
        const outcome = await response.json();
        const head = headOf(entry.at);
        if (outcome.state === 'on_disk') {
          drop(key);
          seenNow(entry.at, outcome.seen);
          if (head) { head.dataset.line = outcome.line; head.dataset.open = 'false'; head.dataset.fields = JSON.stringify(entry.fields); }
        } else if (outcome.state === 'refused') {
          drop(key);
          const draft = get(draftKey(entry.at));
          const reason = outcome.words;
          set(draftKey(entry.at), { fields: draft ? draft.fields : entry.fields, seen: outcome.seen, reason });
          if (head) head.dataset.seen = outcome.seen;
          if (entry.at === current && !draft) show(current, false);
        } else return;
        if (entry.at === current && form && !get(draftKey(current))) form.elements.seen.value = headOf(current).dataset.seen;
        paint();
      }
      await poll();
    } catch (error) {
      // No network: it waits.
    } finally {
      busy = false;
      paint();
    }
  };

  // What stands on the server, and that this phone is there with so much unsent.
  const poll = async () => {
    const response = await ask(path + '/state?drafts=' + drafts().length + '&waiting=' + waiting().length);
    if (!response.ok) return;
    const state = await response.json();
    byId('break').hidden = !state.on_break;
    byId('revealed').hidden = !state.revealed;
    if (state.revealed && form) form.hidden = true;
    for (const place of state.places) {
      const head = headOf(place.at);
      if (!head) continue;
      const was = head.dataset.fields;
      head.dataset.line = place.line === null ? '' : place.line;
      head.dataset.open = place.open;
      head.dataset.fields = JSON.stringify(place.fields);
      if (!waitingFor(place.at).length) head.dataset.seen = place.seen;
      if (place.at === current && was !== head.dataset.fields && form && !get(draftKey(current)) && !waitingFor(current).length) show(current, false);
    }
    paint();
  };
  const wake = () => { flush().then(() => { if (!waiting().length) return poll(); }).catch(() => {}); };
  window.addEventListener('online', wake);
  window.addEventListener('pageshow', wake);
  window.addEventListener('storage', paint);
  document.addEventListener('visibilitychange', () => { if (!document.hidden) wake(); });
  setInterval(() => { if (waiting().length) flush(); }, 3000);
  setInterval(() => { poll().catch(() => {}); }, 15000);

  if (form && current) show(current, false);
  else paint();
  wake();
})();
