'use strict';
// The fields of this page stand for the blanks of a run file. What is typed is checked by the limits that the data name,
// kept in the browser, and put between the texts around the blanks when the file is saved.
(() => {
  const data = JSON.parse(document.getElementById('data..').textContent);
  const keptAs = 'fillmark-sheet:' + data.key;
  // A message appears this long after the last key, so that a half-typed number is not reported.
  const PAUSE = 700;

  const byEntry = new Map(data.fields.map((field) => [field.entry, field]));
  const inputs = new Map();
  for (const input of document.querySelectorAll('input[data-entry]')) {
    inputs.set(input.dataset.entry, input);
  }
  const ticks = [...document.querySelectorAll('label.tick input')];
  const status = document.getElementById('status..');
  const count = document.getElementById('count..');

  // What is typed at an entry or known of it; '' where there is nothing yet.
  const valueAt = (entry) => {
    const input = inputs.get(entry);
    return input ? input.value.trim() : data.known[entry] || '';
  };
  // A mass as a number; NaN where none is written.
  const numberAt = (entry) => {
    const match = /^(\d+(?:\.\d+)?)\s*(?:±.*)?\s*g?$/.exec(valueAt(entry));
    return match ? Number(match[1]) : NaN;
  };
  const decimalsOf = (text) => (text.split('.')[1] || '').length;

  // What shows a reading: its step in words, and the decimals of the step; null where it is not known.
  const stepOf = (shown) => {
    if (shown.step) return { by: shown.by, step: shown.step, decimals: shown.decimals };
    const typed = valueAt(shown.step_at);
    if (!/^\d+(\.\d+)?$/.test(typed)) return null;
    const unit = byEntry.get(shown.step_at).unit;
    return { by: shown.by, step: typed + ' ' + unit, decimals: decimalsOf(typed) };
  };

  // A number written with more decimals, with no digit changed.
  const padded = (text, decimals) => {
    const [whole, part = ''] = text.split('.');
    return whole + '.' + part.padEnd(decimals, '0');
  };

  const outsideLimits = (value, limits) => {
    const low = limits.low_allowed ? value >= limits.low : value > limits.low;
    return !(low && value <= limits.high);
  };

  // What is wrong with a number, which may state its standard uncertainty; '' where nothing is.
  const wrongNumber = (field, typed) => {
    const unit = field.unit;
    if (unit && typed.endsWith(unit)) return `Leave out the unit: ${unit} is assumed.`;
    if (/\d,\d/.test(typed)) return 'The decimal sign is a point.';
    const [text, spread = '0'] = typed.split('±').map((part) => part.trim());
    if (!/^[+\-−]?\d+(\.\d+)?$/.test(text) || !/^\d+(\.\d+)?$/.test(spread)) {
      return 'Write a number: digits and a decimal point.';
    }
    const value = Number(text.replace('−', '-'));
    const limits = field.limits;
    if (limits && outsideLimits(value, limits)) return `This must be ${limits.told}.`;
    // A zero says that the balance was tared.
    const shown = field.shown && value !== 0 ? stepOf(field.shown) : null;
    if (shown && decimalsOf(text) < shown.decimals) {
      return `The ${shown.by} shows ${shown.step}: write ${padded(text, shown.decimals)}, not ${text}.`;
    }
    if (shown && decimalsOf(text) > shown.decimals) {
      return `The ${shown.by} shows ${shown.step}: ${text} has more digits than it shows.`;
    }
    if (limits && limits.likely && (value < limits.likely[0] || value > limits.likely[1])) {
      const [low, high] = limits.likely;
      return `${text} ${unit} is an unlikely temperature at a bench (${low} ${unit} to ${high} ${unit}).`;
    }
    return '';
  };

  const wrongDay = (text) => {
    const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
    if (!match) return 'Write the day as YYYY-MM-DD.';
    const [year, month, day] = match.slice(1).map(Number);
    const leap = (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0;
    const days = [31, leap ? 29 : 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][month - 1];
    return days && day >= 1 && day <= days ? '' : 'There is no such day.';
  };

  const wrongDeliveries = (field, text) => {
    const match = /^\d+\s*[×x]\s*(.+)$/.exec(text);
    const volumes = match ? [match[1]] : text.replace(/^\[|\]$/g, '').split(/,\s+/);
    const wrong = volumes.map((volume) => wrongNumber(field, volume.trim())).find((told) => told);
    return wrong ? `${wrong} Several deliveries: 2 × 5.00.` : '';
  };

  const ordersOf = new Map();
  for (const order of data.orders) {
    for (const entry of [order.less, order.more]) {
      if (!ordersOf.has(entry)) ordersOf.set(entry, []);
      ordersOf.get(entry).push(order);
    }
  }
  const wrongOrder = (entry) => {
    const orders = ordersOf.get(entry) || [];
    const broken = orders.find((order) => numberAt(order.less) >= numberAt(order.more));
    return broken ? broken.told : '';
  };

  // What is wrong with what is typed in a field; '' where nothing is, or nothing is typed.
  const wrong = (field) => {
    const text = valueAt(field.entry);
    if (!text) return '';
    switch (field.kind) {
      case 'number':
        return wrongNumber(field, text) || wrongOrder(field.entry);
      case 'deliveries':
        return wrongDeliveries(field, text);
      case 'count':
        return /^\d+$/.test(text) && Number(text) <= field.limits.high ? '' : `This must be ${field.limits.told}.`;
      case 'day':
        return wrongDay(text);
      case 'choice':
        return field.words.includes(text) ? '' : `Write one of these: ${field.words.join(', ')}.`;
      default:
        return '';
    }
  };

  const tell = (field) => {
    const input = inputs.get(field.entry);
    if (!input) return;
    const told = wrong(field);
    const place = document.getElementById(input.id + '..told');
    if (place.textContent !== told) place.textContent = told;
    if (told) input.setAttribute('aria-invalid', 'true');
    else input.removeAttribute('aria-invalid');
  };

  // The fields that what is typed in one may put right or wrong.
  const touched = (entry) => {
    const orders = ordersOf.get(entry) || [];
    const others = orders.map((order) => (order.less === entry ? order.more : order.less));
    const shown = data.fields.filter((field) => field.shown && field.shown.step_at === entry);
    return [byEntry.get(entry), ...others.map((other) => byEntry.get(other)), ...shown].filter(Boolean);
  };

  const tellCount = () => {
    const fields = data.fields.filter((field) => inputs.has(field.entry));
    const filled = fields.filter((field) => valueAt(field.entry));
    const lacking = fields.filter((field) => field.required && !valueAt(field.entry));
    const wrongs = fields.filter((field) => wrong(field));
    const parts = [`${filled.length} of ${fields.length} entries filled in`];
    if (lacking.length) parts.push(`${lacking.length} required and still blank`);
    if (wrongs.length) parts.push(`${wrongs.length} to check`);
    return parts.join(', ') + '.';
  };

  const store = (text) => {
    try {
      if (text === null) localStorage.removeItem(keptAs);
      else localStorage.setItem(keptAs, text);
    } catch {
      status.textContent = 'This browser does not store entries for this page: save before you leave it.';
    }
  };

  const keep = () => {
    const all = [...inputs].map(([entry, input]) => [entry, input.value]);
    const values = Object.fromEntries(all.filter(([, value]) => value));
    store(JSON.stringify({ values, ticked: ticks.map((tick) => tick.checked) }));
    count.textContent = tellCount();
  };

  const restore = () => {
    let kept = null;
    try {
      kept = JSON.parse(localStorage.getItem(keptAs));
    } catch {
      // What cannot be read is as if it were not there.
    }
    if (!kept) return;
    for (const [entry, value] of Object.entries(kept.values || {})) {
      const input = inputs.get(entry);
      if (input) input.value = value;
    }
    ticks.forEach((tick, index) => (tick.checked = Boolean((kept.ticked || [])[index])));
  };

  // A text as it stands in YAML: as it is where it cannot be taken for anything else.
  const scalar = (text) => {
    const plain = /^\p{L}[\p{L}\p{N} _\-.()/]*$/u.test(text);
    const word = /^(true|false|yes|no|on|off|null|y|n)$/i.test(text);
    return plain && !word ? text : JSON.stringify(text);
  };

  const written = (field) => {
    const text = valueAt(field.entry);
    switch (field.kind) {
      case 'text':
        return scalar(text);
      case 'texts': {
        const texts = text.split(',').map((part) => part.trim()).filter((part) => part);
        return texts.length > 1 ? `[${texts.map(scalar).join(', ')}]` : scalar(texts[0] || text);
      }
      case 'deliveries':
        return /^\d[\d.]*(,\s+\d[\d.]*)+$/.test(text) ? `[${text}]` : plainOr(text);
      case 'number':
        return plainOr([field.before, text, field.behind].filter((part) => part).join(' '));
      default:
        return plainOr(text);
    }
  };
  // What is wrong is written all the same, so that nothing typed is lost; in quotes where it might break the file.
  const plainOr = (text) => (/^[\p{L}\p{N} .×±%+\-−[\],]+$/u.test(text) && !/^[\],\-] ?/.test(text) ? text : JSON.stringify(text));

  const runFile = () => {
    let text = data.pieces[0];
    data.fields.forEach((field, index) => {
      if (valueAt(field.entry)) {
        const value = ' ' + written(field);
        // A comment behind it stays where it is, if there is room.
        text += field.room ? value.padEnd(Math.max(field.room, value.length + 1)) : value;
      } else {
        text += field.gap;
      }
      text += data.pieces[index + 1];
    });
    return text;
  };

  const save = () => {
    const address = URL.createObjectURL(new Blob([runFile()], { type: 'application/yaml' }));
    const link = document.createElement('a');
    link.href = address;
    link.download = data.file;
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 1000);
    status.textContent = `Saved as ${data.file}: ${tellCount()}`;
  };

  const clear = () => {
    if (!confirm('Clear everything that was typed and ticked on this page?')) return;
    for (const input of inputs.values()) input.value = '';
    for (const tick of ticks) tick.checked = false;
    store(null);
    data.fields.forEach(tell);
    count.textContent = tellCount();
    status.textContent = 'All fields are cleared.';
  };

  for (const [entry, input] of inputs) {
    // A keyboard for numbers has no sign for "2 × 5.00".
    if (byEntry.has(entry) && byEntry.get(entry).kind === 'deliveries') input.inputMode = 'text';
    let waiting = 0;
    const checkAll = () => {
      clearTimeout(waiting);
      touched(entry).forEach(tell);
      count.textContent = tellCount();
    };
    input.addEventListener('input', () => {
      const field = byEntry.get(entry);
      // Some keyboards for numbers have a comma alone.
      if (field && field.kind === 'number' && /^\d+,\d*$/.test(input.value)) {
        input.value = input.value.replace(',', '.');
      }
      keep();
      clearTimeout(waiting);
      if (input.hasAttribute('aria-invalid')) checkAll();
      else waiting = setTimeout(checkAll, PAUSE);
    });
    input.addEventListener('change', checkAll);
  }
  // Enter leads on from field to field, and from the last to the button that saves.
  const stops = [...document.querySelectorAll('main input, main button')];
  stops.slice(0, -1).forEach((stop, index) => {
    if (stop.tagName !== 'INPUT') return;
    stop.addEventListener('keydown', (event) => {
      if (event.key !== 'Enter' || event.isComposing) return;
      event.preventDefault();
      stops[index + 1].focus();
    });
  });
  ticks.forEach((tick) => tick.addEventListener('change', keep));
  document.getElementById('save..').addEventListener('click', save);
  document.getElementById('clear..').addEventListener('click', clear);

  restore();
  data.fields.forEach(tell);
  count.textContent = tellCount();
})();
