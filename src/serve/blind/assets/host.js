// The host's page: counts as they change. Without this script the page is loaded again.
'use strict';
(() => {
  const path = document.querySelector('main').dataset.path;
  const put = (element, text) => {
    if (element && element.textContent !== text) element.textContent = text;
  };
  const show = view => {
    put(document.getElementById('missing'), view.words);
    view.tasters.forEach((one, n) => {
      const row = document.querySelector('[data-taster="' + n + '"]');
      if (!row) return;
      put(row.querySelector('[data-cell=done]'), one.done + ' of ' + one.of);
      const remark = row.querySelector('[data-cell=remark]');
      put(remark, one.remark);
      remark.classList.toggle('late', one.late);
    });
    const button = document.getElementById('break');
    put(button, view.on_break ? 'End the break' : 'Call a break');
    document.getElementById('break-on').value = view.on_break ? 'no' : 'yes';
    if (view.revealed && !document.querySelector('[href$="/results"]')) location.reload();
  };
  const live = new EventSource(path + '/live');
  live.onmessage = message => show(JSON.parse(message.data));
  window.addEventListener('pagehide', () => live.close());
  window.addEventListener('pageshow', event => { if (event.persisted) location.reload(); });
})();
