import assert from 'node:assert/strict';
import { test } from 'node:test';
import { de } from '../../src/text/de';
import { en } from '../../src/text/en';
import { bestLanguage, tell, type Message, type MessageKey } from '../../src/text/text';

const forms = (message: Message): string[] => (typeof message === 'string' ? [message] : [message.one, message.other]);
const names = (text: string): string[] => [...text.matchAll(/\{(\w+)\}/g)].map((match) => match[1]!).sort();

test('German says everything English says, with the same values', () => {
  assert.deepEqual(Object.keys(de).sort(), Object.keys(en).sort());
  for (const key of Object.keys(en) as MessageKey[]) {
    const wanted = [...new Set(forms(en[key]).flatMap(names))].sort();
    for (const form of forms(de[key])) {
      assert.notEqual(form.trim(), '', key);
      for (const name of names(form)) assert.ok(wanted.includes(name), `${key}: {${name}}`);
    }
    assert.deepEqual([...new Set(forms(de[key]).flatMap(names))].sort(), wanted, key);
  }
});

test('one and many', () => {
  assert.match(tell('en', 'left.count', { n: 1 }), /^1 thing /);
  assert.match(tell('en', 'left.count', { n: 2 }), /^2 things /);
  assert.match(tell('de', 'left.count', { n: 1 }), /^1 Sache /);
});

test('the language of the browser, English when it is none of ours', () => {
  assert.equal(bestLanguage(['de-AT', 'en']), 'de');
  assert.equal(bestLanguage(['pl', 'de']), 'de');
  assert.equal(bestLanguage(['pl']), 'en');
});
