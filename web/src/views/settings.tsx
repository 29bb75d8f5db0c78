// How the page looks on this screen; phones that may look on.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import { chooseLanguage, shortcuts, theme, themes } from '../state/settings';
import { language, languages, t, type Language } from '../text/text';
import { Button, Caution, Choice } from './parts';
import { ProfileForm } from './profile';

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
        <p class="small quiet">{t('settings.language-text')}</p>
      </section>
      <section>
        <h2>{t('settings.keys')}</h2>
        <label class="check">
          <input type="checkbox" checked={shortcuts.value} onChange={(event) => (shortcuts.value = event.currentTarget.checked)} />
          {t('settings.keys-text')}
        </label>
      </section>
      <ProfileForm />
      <Devices />
    </main>
  );
}

interface Device {
  device: number;
  name: string;
  address: string;
}

interface Answer<Result> {
  ok: boolean;
  result: Result;
}

async function asked<Result>(path: string, body?: unknown): Promise<Result | null> {
  try {
    const response = await fetch(path, body === undefined ? {} : { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
    const reply = (await response.json()) as Answer<Result>;
    return reply.ok ? reply.result : null;
  } catch {
    return null;
  }
}

/** Phones on the same network: only where the program was started with --lan, and only on the machine itself. */
function Devices(): JSX.Element | null {
  const devices = useSignal<Device[] | null>(null);
  const code = useSignal<{ address: string; svg: string; minutes: number } | null>(null);
  const read = async () => {
    const got = await asked<{ lan: boolean; devices: Device[] }>('/api/devices');
    devices.value = got?.lan ? got.devices : null;
  };
  useEffect(() => void read(), []);
  if (devices.value === null) return null;
  return (
    <section>
      <h2>{t('devices.title')}</h2>
      <Caution text={t('devices.warning')} />
      <ul class="plain-list">
        {devices.value.map((one) => (
          <li key={one.device} class="row spread">
            <span>
              {one.name} <span class="quiet small">{one.address}</span>
            </span>
            <Button press={() => void asked('/api/devices/revoke', { device: one.device }).then(read)}>{t('devices.revoke')}</Button>
          </li>
        ))}
      </ul>
      <Button press={() => void asked<{ address: string; svg: string; minutes: number }>('/api/devices/pair', {}).then((got) => (code.value = got))}>{t('devices.pair')}</Button>
      {code.value ? (
        <figure class="qr">
          <img src={`data:image/svg+xml;utf8,${encodeURIComponent(code.value.svg)}`} alt={t('devices.code')} />
          <figcaption>
            {code.value.address} <span class="quiet">{t('devices.minutes', { n: code.value.minutes })}</span>
          </figcaption>
        </figure>
      ) : null}
    </section>
  );
}
