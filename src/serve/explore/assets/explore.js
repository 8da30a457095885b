// A water by hand: while a slider moves or a goal is typed, the server plans again.
'use strict';
(() => {
  const form = document.getElementById('goals');
  const answer = document.getElementById('answer');
  const path = document.querySelector('main').dataset.path;
  const sliders = [...form.querySelectorAll('input[type=range]')];
  const fieldOf = slider => form.elements[slider.dataset.for];
  // A slider counts in its own unit, and moves the first number of a goal in that unit: `at most 10 mg/L`
  // stays a limit, `35 ± 2 mg/L` keeps its tolerance.
  const number = /\d+([.,]\d+)?/;
  const range = /between| to |\d\s*[-–—]\s*\d/;
  const isIn = (text, unit) => number.test(text) && text.includes(unit) && !range.test(text);
  // A limit in another unit stays one: `max 3 °dH` becomes `max 80 mg/L as CaCO3`.
  const limit = text => range.test(text) ? '' : (text.match(/^\s*(at most|at least|max\.?|min\.?|[<>≤≥]=?)\s*/i) || [''])[0];
  const follow = slider => {
    const text = fieldOf(slider).value;
    slider.value = isIn(text, slider.dataset.unit) ? text.match(number)[0].replace(',', '.') : 0;
  };
  let asked = 0, shown = 0, again = false, busy = false;
  const plan = async () => {
    if (busy) { again = true; return; }
    busy = true;
    const turn = ++asked;
    try {
      const query = new URLSearchParams([...new FormData(form)].filter(([name]) => name !== 'name'));
      const response = await fetch(path + '/answer?' + query, { cache: 'no-store', credentials: 'omit' });
      if (response.ok && turn > shown) {
        shown = turn;
        // A part of this page, made by the same server, in which every text is escaped.
        answer.innerHTML = await response.text();
        history.replaceState(null, '', path + '?' + query);
      }
    } catch (error) {
      // The program has ended: what is shown stays.
    } finally {
      busy = false;
      if (again) { again = false; plan(); }
    }
  };
  for (const slider of sliders) {
    slider.hidden = false;
    follow(slider);
    slider.addEventListener('input', () => {
      const field = fieldOf(slider), unit = slider.dataset.unit;
      field.value = isIn(field.value, unit) ? field.value.replace(number, slider.value) : limit(field.value) + slider.value + ' ' + unit;
      plan();
    });
  }
  form.addEventListener('input', event => {
    if (event.target.type === 'range' || event.target.name === 'name') return;
    sliders.filter(slider => fieldOf(slider) === event.target).forEach(follow);
    plan();
  });
})();
