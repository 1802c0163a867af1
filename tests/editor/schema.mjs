// The schemas of `fillmark schema` in a real language server, as an editor uses them: `node schema.mjs FILLMARK`.

import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const here = dirname(fileURLToPath(import.meta.url));
const samples = join(here, '../../sample_runs');
const fillmark = resolve(process.argv[2]);
const folder = mkdtempSync(join(tmpdir(), 'fillmark-editor-'));
const server = spawn(
  process.execPath,
  [join(here, 'node_modules/yaml-language-server/bin/yaml-language-server'), '--stdio'],
  { stdio: ['pipe', 'pipe', 'inherit'] },
);

// Messages to and from the server: a head with their length, a blank line, JSON.
const answers = new Map();
const told = new Map();
let last = 0;
const send = (message) => {
  const text = JSON.stringify({ jsonrpc: '2.0', ...message });
  server.stdin.write(`Content-Length: ${Buffer.byteLength(text)}\r\n\r\n${text}`);
};
const ask = (method, params) => new Promise((answered) => {
  last += 1;
  answers.set(last, answered);
  send({ id: last, method, params });
});
const settings = {
  yaml: { completion: true, hover: true, validate: true, schemaStore: { enable: false } },
};
const received = (message) => {
  if (message.method === undefined) {
    assert.equal(message.error, undefined);
    answers.get(message.id)(message.result);
  } else if (message.method === 'textDocument/publishDiagnostics') {
    told.get(message.params.uri)?.(message.params.diagnostics);
  } else if (message.id !== undefined) {
    const asked = message.method === 'workspace/configuration';
    const result = asked ? message.params.items.map(({ section }) => settings[section] ?? {}) : null;
    send({ id: message.id, result });
  }
};
let unread = Buffer.alloc(0);
server.stdout.on('data', (bytes) => {
  unread = Buffer.concat([unread, bytes]);
  for (;;) {
    const head = unread.indexOf('\r\n\r\n');
    if (head < 0) break;
    const length = Number(/Content-Length: (\d+)/.exec(unread.subarray(0, head))[1]);
    if (unread.length < head + 4 + length) break;
    const text = unread.subarray(head + 4, head + 4 + length).toString();
    unread = unread.subarray(head + 4 + length);
    received(JSON.parse(text));
  }
});

// Opens a text and gives what can be asked about it. `‸` is where the cursor is. The schema is named in the first line, as
// README says.
let documents = 0;
const opened = async (text, schema = 'run.schema.json') => {
  documents += 1;
  const uri = pathToFileURL(join(folder, `${documents}.yaml`)).href;
  const whole = `# yaml-language-server: $schema=${schema}\n${text}`;
  const before = whole.split('‸')[0].split('\n');
  const position = { line: before.length - 1, character: before.at(-1).length };
  const marks = new Promise((published) => told.set(uri, published));
  const textDocument = { uri, languageId: 'yaml', version: 1, text: whole.replace('‸', '') };
  send({ method: 'textDocument/didOpen', params: { textDocument } });
  return {
    marks: (await marks).map(({ message, range }) => ({ message, line: range.start.line })),
    completed: async () => {
      const said = await ask('textDocument/completion', { textDocument: { uri }, position });
      return Object.fromEntries(said.items.map((item) => [item.label, item]));
    },
    hovered: async () => {
      const said = await ask('textDocument/hover', { textDocument: { uri }, position });
      return said?.contents?.value ?? '';
    },
  };
};

const short = readFileSync(join(here, '../runs/short.yaml'), 'utf8');
const plan = readFileSync(join(samples, 'plans/teaching_bench.yaml'), 'utf8');
const changed = (text, from, to) => {
  assert.ok(text.includes(from), `${from} is not in the file`);
  return text.replace(from, to);
};

const tests = {
  'no sample is marked': async () => {
    const of = (folder, schema) => readdirSync(folder)
      .filter((name) => name.endsWith('.yaml'))
      .map((name) => [join(folder, name), schema]);
    const all = [
      ...of(samples, 'run.schema.json'),
      ...of(join(samples, 'plans'), 'plan.schema.json'),
      [join(here, '../runs/short.yaml'), 'run.schema.json'],
    ];
    assert.ok(all.length >= 6, `only ${all.length} files`);
    for (const [file, schema] of all) {
      const { marks } = await opened(readFileSync(file, 'utf8'), schema);
      assert.deepEqual(marks, [], file);
    }
  },

  'keys are offered, each once, explained and ready to go on': async () => {
    for (const [text, offered, inserted] of [
      [`${short}‸`, ['limits', 'practice', 'notes'], { corrections: 'corrections:\n  - ' }],
      [changed(short, '{liquid: 20.6 °C}', '\n  ‸'), ['air', 'liquid'], { liquid: 'liquid: ' }],
      [
        changed(short, '  bath 3:', '  C:\n    ‸\n  bath 3:'),
        ['aliquot', 'made_up', 'pure', 'solvent', 'unknown', 'weighed'],
        { pure: 'pure: ', solvent: 'solvent:\n  ' },
      ],
      [
        changed(short, '  bath 3:', '  C:\n    weighed:\n      ‸\n  bath 3:'),
        ['after', 'balance', 'before', 'mass'],
        { before: 'before: ' },
      ],
      [
        changed(short, 'apparatus:\n', 'apparatus:\n  new:\n    kind: burette\n    ‸\n'),
        ['capacity', 'class', 'division', 'tolerance'],
        { class: 'class: ' },
      ],
      [
        changed(short, '    B: [', '    C:\n      - empty: 31.203 g\n        ‸\n    B: ['),
        ['filled', 'left_out', 'volume'],
        { volume: 'volume: ' },
      ],
    ]) {
      const { completed } = await opened(text);
      const items = await completed();
      for (const label of offered) {
        assert.ok(items[label]?.documentation, `${label} of ${Object.keys(items)}`);
      }
      for (const [label, wanted] of Object.entries(inserted)) {
        assert.equal(items[label].insertText, wanted);
      }
      for (const { insertText } of Object.values(items)) {
        assert.match(insertText, /^[a-z_]+:/, 'what is inserted is a key');
      }
    }
    const { completed } = await opened(changed(plan, '  solutions:', '  ‸\n  solutions:'), 'plan.schema.json');
    assert.ok((await completed()).stock, 'a key of a plan');
  },

  'words are offered, and nothing where none is wanted': async () => {
    for (const [text, offered] of [
      [
        changed(short, 'kind: balance', 'kind: ‸'),
        [
          'balance', 'pipette', 'graduated pipette', 'burette', 'flask', 'cylinder', 'thermometer',
          'hydrometer', 'density meter',
        ],
      ],
      [changed(short, 'class: B', 'class: ‸'), ['A', 'AS', 'B']],
      [`${short}calibration:\n  line: ‸`, ['straight', 'curve', 'published']],
      [`${short}draft: ‸`, ['true']],
      [`${short}place: ‸`, []],
      [changed(short, 'title: Brine bath strength by density', 'title: ‸'), []],
    ]) {
      const { completed } = await opened(text);
      assert.deepEqual(Object.keys(await completed()).sort(), offered.sort());
    }
    const { completed } = await opened(changed(short, 'solute: sodium chloride', 'solute: ‸'));
    const salts = Object.keys(await completed());
    assert.ok(salts.includes('sodium chloride') && salts.includes('KCl'), salts.join());
  },

  'slips are marked where they are, in words': async () => {
    for (const [from, to, message] of [
      ['title:', 'titel:', 'Property titel is not allowed.'],
      ['readability:', 'readabilty:', 'Property readabilty is not allowed.'],
      ['before:', 'befor:', 'Property befor is not allowed.'],
      ['filled: 41.176 g', 'filed: 41.176 g', 'Property filed is not allowed.'],
      ['made_up:', 'madeup:', 'Property madeup is not allowed.'],
      ['kind: flask', 'kind: flagon', /^Value is not accepted\. .*"flask"/],
      ['class: B', 'class: C', 'Value is not accepted. Valid values: "A", "AS", "B".'],
      ['solute: sodium chloride', 'solute: brine', /^Value is not accepted\. .*"NaCl"/],
      ['20.6 °C', '300', 'Value is above the maximum of 110.'],
      ['41.176 g', '4l.176 g', /^Must be more than zero, written as in 12\.34 g, .* or /],
      ['41.176 g', '41.176 mL', /^Must be more than zero, written as in 12\.34 g, .* or /],
      ['date: 2026-03-04', 'date: 4 March', 'Must be a day, written as in 2026-03-04.'],
      ['title: Brine bath strength by density', 'title: " "', 'Must not be blank.'],
      ['pure: true', 'pure: true, unknown: true', '`unknown` cannot be combined with `pure`.'],
      ['volume: 10.00 mL', 'volume: 10.00 mL, left_out: yes', /^Must say why: the reason /],
    ]) {
      const { marks } = await opened(changed(short, from, to));
      const at = short.slice(0, short.indexOf(from)).split('\n').length;
      const fits = (mark) => (typeof message === 'string' ? mark === message : message.test(mark));
      const found = marks.filter((mark) => fits(mark.message) && Math.abs(mark.line - at) <= 1);
      assert.ok(found.length > 0, `${to}: ${JSON.stringify(marks)}`);
      for (const mark of marks) assert.doesNotMatch(mark.message, /pattern|schema/, to);
    }
  },

  'what a key means is shown under the pointer': async () => {
    for (const [from, to, title, said] of [
      ['readability:', 'read‸ability:', 'Readability', 'Step of the display.'],
      ['liquid:', 'liq‸uid:', 'Liquid', 'Temperature of the liquid'],
      ['before:', 'bef‸ore:', 'Before', 'By difference'],
      ['aliquot:', 'ali‸quot:', 'Aliquot', 'The aliquot taken of another solution.'],
      ['class: B', 'cl‸ass: B', 'Class', 'Accuracy class'],
      ['analysts:', 'ana‸lysts:', 'Analysts', ''],
      ['solute:', 'sol‸ute:', 'Solute', '`sodium chloride`'],
      ['kind: flask', 'kind: fla‸sk', 'Kind', '`graduated pipette`'],
    ]) {
      const { hovered } = await opened(changed(short, from, to));
      const text = await hovered();
      assert.ok(text.startsWith(`#### ${title}\n`) && text.includes(said), `${to}: ${text}`);
    }
  },
};

try {
  for (const [name, words] of [['run', []], ['plan', ['--plan']]]) {
    writeFileSync(join(folder, `${name}.schema.json`), execFileSync(fillmark, ['schema', ...words]));
  }
  await ask('initialize', {
    processId: process.pid,
    rootUri: null,
    capabilities: {
      textDocument: {
        completion: { completionItem: { snippetSupport: true } },
        hover: { contentFormat: ['markdown'] },
      },
      workspace: { configuration: true },
    },
  });
  send({ method: 'initialized', params: {} });
  for (const [name, test] of Object.entries(tests)) {
    await test();
    console.log(`editor: ${name}`);
  }
} finally {
  server.kill();
  rmSync(folder, { recursive: true });
}
