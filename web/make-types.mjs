// Makes src/api/generated.ts from the operation table: `halfsplit operations --json | node make-types.mjs`, or with the
// name of a file that holds that reply. `--check`: only says whether the file is what it would be (exit code 1: no).
import { readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const target = path.join(path.dirname(fileURLToPath(import.meta.url)), 'src/api/generated.ts');
const names = process.argv.slice(2).filter((one) => !one.startsWith('--'));
const reply = JSON.parse(readFileSync(names[0] ?? 0, 'utf8'));

const kinds = { positional: 'Told', option: 'Told', rest: 'Told | readonly Told[]', list: 'Told | readonly Told[]', flag: 'boolean' };
const key = (name) => (/^[A-Za-z_]\w*$/.test(name) ? name : `'${name}'`);

let text = `// The operations of the program and their arguments. Made by make-types.mjs from \`halfsplit operations --json\`; change
// src/app/operations.cpp, not this file.

export type Told = string | number;

export interface OperationArguments {
`;
for (const operation of reply.result.operations) {
  text += `  /** ${operation.summary.replace(/\*\//g, '')} */\n  ${key(operation.name)}: {\n`;
  for (const field of operation.fields) {
    text += `    /** ${field.help.replace(/\*\//g, '')} */\n    ${key(field.name)}?: ${kinds[field.kind] ?? 'unknown'};\n`;
  }
  text += '  };\n';
}
text += '}\n\nexport type OperationName = keyof OperationArguments;\n';

if (process.argv.includes('--check')) {
  if (readFileSync(target, 'utf8') === text) process.exit(0);
  console.error('web/src/api/generated.ts is not what the operation table says; make it anew: halfsplit operations --json | node web/make-types.mjs');
  process.exit(1);
}
writeFileSync(target, text);
