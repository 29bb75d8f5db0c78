// How the page looks on this screen; phones that may look on.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import { chooseLanguage, shortcuts, theme, themes } from '../state/settings';
import { language, languages, t, type Language } from '../text/text';
import { Button, Choice } from './parts';

export function SettingsView(): JSX.Element {
  return (
    <main class="page narrow-page" id="main" tabIndex={-1}>
      <h1>{t('settings.title')}</h1>
      <section>
        <h2>{t('settings.look')}</h2>
        <Choice label={t('settings.look')} options={themes.map((value) => ({ value, text: t(`theme.${value}`) }))} value={theme.value} choose={(value) => (theme.value = value)} />
        <p class="small quiet">{t('settings.look-text')}</p>
      </section>
      <section>
        <h2>{t('settings.language')}</h2>
        <Choice label={t('settings.language')} options={(Object.keys(languages) as Language[]).map((value) => ({ value, text: languages[value] }))} value={language.value} choose={chooseLanguage} />
      </section>
      <section>
        <h2>{t('settings.keys')}</h2>
        <label class="check">
          <input type="checkbox" checked={shortcuts.value} onChange={(event) => (shortcuts.value = event.currentTarget.checked)} />
          {t('settings.keys-text')}
        </label>
      </section>
      <Devices />
    </main>
  );
}

interface Device {
  id: number;
  name: string;
  here?: boolean;
}

/** Phones on the same network: only where the program was started with --lan. */
function Devices(): JSX.Element | null {
  const devices = useSignal<Device[] | null>(null);
  const code = useSignal<{ address: string; qr: string } | null>(null);
  const read = async () => {
    try {
      const response = await fetch('/api/devices');
      const reply = (await response.json()) as { ok?: boolean; result?: { devices?: Device[] } };
      devices.value = reply.ok ? reply.result?.devices ?? [] : null;
    } catch {
      devices.value = null;
    }
  };
  const post = async (path: string, body: unknown) => {
    const response = await fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
    return (await response.json()) as { ok: boolean; result: { address?: string; qr?: string; svg?: string } };
  };
  const pair = async () => {
    const reply = await post('/api/devices/pair', {});
    if (reply.ok) code.value = { address: reply.result.address ?? '', qr: reply.result.qr ?? reply.result.svg ?? '' };
  };
  useEffect(() => void read(), []);
  if (devices.value === null) return null;
  return (
    <section>
      <h2>{t('devices.title')}</h2>
      <p class="caution">
        <span>{t('devices.warning')}</span>
      </p>
      <ul class="plain-list">
        {devices.value.map((one) => (
          <li key={one.id} class="row spread">
            <span>{one.name}</span>
            <Button press={() => void post('/api/devices/revoke', { id: one.id }).then(read)}>{t('devices.revoke')}</Button>
          </li>
        ))}
      </ul>
      <Button press={() => void pair()}>{t('devices.pair')}</Button>
      {code.value ? (
        <figure class="qr">
          {code.value.qr ? <img src={`data:image/svg+xml;utf8,${encodeURIComponent(code.value.qr)}`} alt={t('devices.code')} /> : null}
          <figcaption>{code.value.address}</figcaption>
        </figure>
      ) : null}
    </section>
  );
}
