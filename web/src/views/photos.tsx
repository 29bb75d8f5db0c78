// Photos of the job: from the camera or a file; kept in the book by their fingerprint.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { addPhoto, photoAddress, type Photo } from '../api/book';
import type { Diagnostic } from '../api/replies';
import { useAsk } from '../state/ask';
import { jobName } from '../state/job';
import { t } from '../text/text';
import { Problems, Waiting } from './parts';

export function PhotosView(): JSX.Element {
  const job = jobName.value ?? '';
  const asked = useAsk<{ photos: Photo[] }>('jobs', { do: 'photos', what: job.replace(/^book:/, '') }, job);
  const busy = useSignal(false);
  const wrong = useSignal<Diagnostic[]>([]);
  const add = async (files: FileList | null) => {
    busy.value = true;
    wrong.value = [];
    for (const file of files ?? []) {
      const reply = await addPhoto(job, file);
      if (!reply.ok) wrong.value = [...wrong.value, ...reply.diagnostics];
    }
    busy.value = false;
    asked.again();
  };
  const got = asked.reply.value;
  return (
    <section class="panel">
      <h2>{t('tab.photos')}</h2>
      <label class="button main file">
        {t('photos.take')}
        <input type="file" accept="image/*" capture="environment" class="visually-hidden" onChange={(event) => void add(event.currentTarget.files)} />
      </label>
      <label class="button plain file">
        {t('photos.choose')}
        <input type="file" accept="image/*" multiple class="visually-hidden" onChange={(event) => void add(event.currentTarget.files)} />
      </label>
      {busy.value ? <Waiting what={t('photos.adding')} /> : null}
      <Problems list={[...wrong.value, ...(got && !got.ok ? got.diagnostics : [])]} />
      <ul class="photos">
        {(got?.ok ? got.result.photos ?? [] : []).map((one) => (
          <li key={one.photo}>
            <a href={photoAddress(one.photo)} target="_blank" rel="noreferrer">
              <img src={photoAddress(one.photo)} alt={one.name || t('photos.one')} loading="lazy" />
            </a>
          </li>
        ))}
      </ul>
      {got?.ok && (got.result.photos ?? []).length === 0 ? <p class="quiet">{t('photos.none')}</p> : null}
    </section>
  );
}
