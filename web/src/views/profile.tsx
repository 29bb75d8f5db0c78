// The workshop's profile: what stands on its sheets, and its rates. Kept by the program, for every screen.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { call } from '../api/client';
import type { Diagnostic } from '../api/replies';
import { useAsk } from '../state/ask';
import { draft } from '../state/drafts';
import { t } from '../text/text';
import { Button, Field, Problems } from './parts';

const fields = ['workshop', 'address', 'phone', 'technician', 'labour-per-hour', 'currency', 'tax-percent'] as const;
type FieldName = (typeof fields)[number];
type Typed = Partial<Record<FieldName, string>>;

const nothing: Typed = {};

export function ProfileForm(): JSX.Element | null {
  const asked = useAsk<Record<string, unknown>>('profile', {}, '');
  const typed = draft<Typed>('profile', nothing);
  const wrong = useSignal<Diagnostic[]>([]);
  const saved = useSignal('');
  const now = asked.reply.value;
  if (!now?.ok) return null;
  const kept = (name: FieldName) => {
    const value = now.result[name.replaceAll('-', '_')];
    return value === null || value === undefined ? '' : String(value);
  };
  const save = async () => {
    const reply = await call('profile', typed.value);
    wrong.value = reply.ok ? [] : reply.diagnostics;
    saved.value = reply.ok ? t('kit.saved') : '';
    if (!reply.ok) return;
    typed.value = nothing;
    asked.again();
  };
  return (
    <section>
      <h2>{t('profile.title')}</h2>
      <p class="small quiet">{t('profile.text')}</p>
      {fields.map((name) => (
        <Field key={name} id={`profile-${name}`} label={t(`profile.${name}`)} value={typed.value[name] ?? kept(name)} change={(text) => (typed.value = { ...typed.value, [name]: text })} enter={() => void save()} />
      ))}
      <Problems list={wrong.value} />
      <div class="row">
        <Button kind="main" press={() => void save()} disabled={Object.keys(typed.value).length === 0}>
          {t('kit.save')}
        </Button>
        <span role="status">{saved}</span>
      </div>
    </section>
  );
}
