// Lines of a recording as they stand in it, with what they say: what every line number of a recording opens.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import { call } from '../api/client';
import type { Frame } from '../api/recording';
import type { Reply } from '../api/replies';
import { momentText } from '../draw/span';
import { piecesOf, widened } from '../lib/lines';
import { framesShown, showFrames } from '../state/recording';
import { t } from '../text/text';
import { Button, Dialog, Problems, Waiting } from './parts';

/** A button that opens these lines. */
export function LinesLink({ recording, lines }: { recording: string; lines: string }): JSX.Element {
  return (
    <button type="button" class="lines-link number" data-lines={lines} aria-label={t('recording.open-lines', { lines })} onClick={() => showFrames(recording, lines)}>
      {t(lines.includes('-') ? 'recording.lines' : 'recording.line', { lines })}
    </button>
  );
}

/** What an entry says, its line numbers as buttons where the recording is there. */
export function ShowsWithLines({ shows, recording }: { shows: string; recording: string | undefined }): JSX.Element {
  if (!recording) return <>{shows}</>;
  return (
    <>
      {piecesOf(shows).map((piece, i) =>
        piece.lines ? (
          <button key={i} type="button" class="lines-link number" data-lines={piece.lines} aria-label={t('recording.open-lines', { lines: piece.lines })} onClick={() => showFrames(recording, widened(piece.lines!, piece.lines!.includes('-') ? 0 : 8))}>
            {piece.text}
          </button>
        ) : (
          <span key={i}>{piece.text}</span>
        ),
      )}
    </>
  );
}

export function FramesDialog(): JSX.Element | null {
  const shown = framesShown.value;
  return shown ? <OpenFrames key={`${shown.recording} ${shown.lines}`} recording={shown.recording} lines={shown.lines} /> : null;
}

function OpenFrames({ recording, lines }: { recording: string; lines: string }): JSX.Element {
  const reply = useSignal<Reply<{ frames: Frame[]; more: number }> | null>(null);
  useEffect(() => {
    const stop = new AbortController();
    void call<{ frames: Frame[]; more: number }>('capture', { file: recording, lines: [lines] }, stop.signal).then((got) => {
      if (!stop.signal.aborted) reply.value = got;
    });
    return () => stop.abort();
  }, []);
  const got = reply.value;
  const frames = got?.ok ? got.result.frames : [];
  return (
    <Dialog title={t(lines.includes('-') ? 'recording.lines' : 'recording.line', { lines })} close={() => (framesShown.value = null)}>
      {got === null ? <Waiting what={t('recording.reading')} /> : null}
      {got && !got.ok ? <Problems list={got.diagnostics} /> : null}
      {got?.ok && frames.length === 0 ? <p>{t('recording.no-frames')}</p> : null}
      {frames.length > 0 ? (
        <div class="frames" tabIndex={0} role="region" aria-label={t('recording.frames')}>
          <table>
            <thead>
              <tr>
                <th scope="col">{t('recording.col-line')}</th>
                <th scope="col">{t('recording.col-time')}</th>
                <th scope="col">{t('recording.col-id')}</th>
                <th scope="col">{t('recording.col-data')}</th>
                <th scope="col">{t('recording.col-says')}</th>
              </tr>
            </thead>
            <tbody>
              {frames.map((one) => (
                <tr key={one.line}>
                  <td class="number">{one.line}</td>
                  <td class="number">{momentText(one.at_s, 0.001)}</td>
                  <td class="number">{one.id.toString(16).toUpperCase().padStart(one.extended ? 8 : 3, '0')}</td>
                  <td class="number">{one.kind === 'data' ? one.data.replace(/(..)(?=.)/g, '$1 ') : t(`recording.${one.kind}`)}</td>
                  <td>{[one.name, (one.says ?? []).join(', ')].filter(Boolean).join(': ')}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      ) : null}
      {got?.ok && got.result.more > 0 ? <p class="small quiet">{t('recording.more-frames', { n: got.result.more })}</p> : null}
      <Button press={() => showFrames(recording, widened(lines, 20))} id="frames-wider">
        {t('recording.around')}
      </Button>
    </Dialog>
  );
}
