// Acts of `did` as short sentences: the verb in the language of the screen, names as on the drawing.
import { t } from '../text/text';

export function deedText(act: string): string {
  const fitted = /^(fit|remove) (.+) at (\S+.*) (\S+)$/.exec(act);
  if (fitted) {
    const [, verb, what, a, b] = fitted as unknown as [string, string, string, string, string];
    const thing = what === 'lead' ? t('state.lead') : what;
    return verb === 'fit' ? t('deed.fit', { what: thing, a, b }) : t('deed.remove', { what: thing, a, b });
  }
  const [, verb, name] = /^(unplug|plug|swap|put back|undo|repaired|make) (.+)$/.exec(act) ?? [];
  if (name === undefined) return t('deed.make', { name: act });
  switch (verb) {
    case 'unplug': return t('deed.unplug', { name });
    case 'plug': return t('deed.plug', { name });
    case 'swap': return t('deed.swap', { name });
    case 'put back': return t('deed.put-back', { name });
    case 'undo': return t('deed.undo', { name });
    case 'repaired': return t('deed.repaired', { name });
    default: return t('deed.make', { name });
  }
}
