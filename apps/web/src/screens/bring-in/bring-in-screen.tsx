import { uuidV7 } from '@heatround/domain';
import { useEffect, useState } from 'preact/hooks';
import { type Answer, call, Refusal, sayTrouble } from '../../client/index.ts';
import { go, useWhere } from '../../shell/router.tsx';
import { useSession } from '../../shell/session.tsx';
import { useSiteZone } from '../../shell/site-clock.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, Told } from '../../ui/field.tsx';
import { sayCount, whenRead } from '../../ui/format.ts';
import { IMPORT_KINDS, KIND_NAMES, STATE_WORDS } from './words.ts';
import type { Sheet } from './workbook.ts';
import './bring-in.css';

type Kind = (typeof IMPORT_KINDS)[number];

export function BringInScreen() {
  const { outbox } = useSession();
  const { search } = useWhere();
  const [kind, setKind] = useState<Kind>(() => IMPORT_KINDS.find((one) => one === search.get('kind')) ?? 'readings');
  const [file, setFile] = useState<File | null>(null);
  const [text, setText] = useState('');
  const [sheets, setSheets] = useState<readonly Sheet[] | null>(null);
  const [sheet, setSheet] = useState(0);
  const [isBusy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [before, setBefore] = useState<Answer<'listImports'>['imports'] | null>(null);
  const heading = useOpening('Bring in');

  useEffect(() => {
    call('listImports', { query: { pageSize: 20 } }).then(
      (answer) => setBefore(answer.imports),
      (failed) => setTrouble(failed),
    );
  }, []);

  const choose = async (chosen: File | null): Promise<void> => {
    setFile(chosen);
    setSheets(null);
    setSheet(0);
    setTrouble(null);
    if (chosen === null) return;
    try {
      // Only whoever brings in a workbook loads what reads it.
      const bytes = new Uint8Array(await chosen.arrayBuffer());
      const { isWorkbook, readWorkbook } = await import('./workbook.ts');
      if (!isWorkbook(bytes)) return;
      const found = await readWorkbook(bytes);
      if (found.length === 0)
        throw new Refusal(422, 'invalid-request', 'The workbook is empty: none of its sheets holds anything.');
      setSheets(found);
    } catch (failed) {
      setFile(null);
      setTrouble(
        failed instanceof Error && failed.name === 'NotAWorkbook' ? new Refusal(422, 'invalid-request', failed.message) : failed,
      );
    }
  };
  const template = async (): Promise<void> => {
    try {
      const answer = await call('importTemplate', { params: { kind } });
      const address = URL.createObjectURL(new Blob([answer.text], { type: 'text/csv' }));
      const link = Object.assign(document.createElement('a'), { href: address, download: answer.fileName });
      link.click();
      setTimeout(() => URL.revokeObjectURL(address), 10_000);
    } catch (failed) {
      setTrouble(failed);
    }
  };
  const start = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (isBusy) return;
    setBusy(true);
    setTrouble(null);
    try {
      const fromSheet = sheets?.[sheet];
      const rows = fromSheet ? (await import('./workbook.ts')).csvOf(fromSheet) : file === null ? text : await readText(file);
      if (rows.trim() === '')
        throw new Refusal(
          422,
          'invalid-request',
          'There is nothing in it yet. Choose a workbook or a CSV file, or paste rows with one line of column names.',
        );
      const id = uuidV7(Date.now(), crypto.getRandomValues(new Uint8Array(10)));
      const fileName =
        (sheets !== null && sheets.length > 1 ? `${file?.name}, ${sheets[sheet]!.name}`.slice(0, 200) : file?.name) ??
        `pasted ${KIND_NAMES[kind].name.toLowerCase()}`;
      const made = await call('startImport', { body: { id, kind, fileName, text: rows } });
      go(`/bring-in/${made.id}`);
    } catch (failed) {
      setTrouble(failed);
      setBusy(false);
    }
  };
  const now = outbox.now();
  const zone = useSiteZone();
  return (
    <div class="bringin">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        Bring in what you have. Nothing is kept until you have seen what it does.
      </h1>
      <form onSubmit={(event) => void start(event)}>
        <fieldset class="field">
          <legend>
            <b>What is in the file?</b>
          </legend>
          {IMPORT_KINDS.map((one) => (
            <label class="choice" key={one}>
              <input type="radio" name="kind" checked={kind === one} onChange={() => setKind(one)} />
              <span>
                {KIND_NAMES[one].name}. <span class="soft">{KIND_NAMES[one].what}</span>
              </span>
            </label>
          ))}
        </fieldset>
        <p>
          <button type="button" class="link" onClick={() => void template()}>
            Download an example file for {KIND_NAMES[kind].name.toLowerCase()}
          </button>
        </p>
        <Field label="File" hint="A workbook (.xlsx), or a CSV file with one line of column names.">
          {(aria) => (
            <input
              {...aria}
              class="entry"
              type="file"
              accept=".xlsx,.csv,.tsv,.txt,text/csv,text/plain,application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
              onChange={(event) => void choose(event.currentTarget.files?.[0] ?? null)}
            />
          )}
        </Field>
        {sheets !== null && sheets.length > 1 && (
          <Field label="Sheet" hint="The workbook has several; each is brought in by itself.">
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={String(sheet)}
                onChange={(event) => setSheet(Number(event.currentTarget.value))}
              >
                {sheets.map(({ name, rows }, i) => (
                  <option key={name} value={String(i)}>
                    {name} ({sayCount(rows.length - 1, 'row')})
                  </option>
                ))}
              </select>
            )}
          </Field>
        )}
        {file === null && (
          <Field label="Or paste rows here" hint="Straight from a spreadsheet, with the line of column names.">
            {(aria) => (
              <textarea
                {...aria}
                class="entry paste"
                value={text}
                spellcheck={false}
                onInput={(event) => setText(event.currentTarget.value)}
              />
            )}
          </Field>
        )}
        {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
        <div class="keyrow">
          <button class="key main" type="submit" disabled={isBusy}>
            {isBusy ? 'Reading the file' : 'Read the file'}
          </button>
        </div>
      </form>
      {before !== null && before.length > 0 && (
        <section class="sec">
          <h2>Brought in before</h2>
          <ul>
            {before.map((one) => (
              <li key={one.id} class="handrow">
                <a href={`/bring-in/${one.id}`}>{one.fileName}</a>
                <span class="note">
                  {KIND_NAMES[one.kind].name}, {sayCount(one.rowCount, 'row')}, {STATE_WORDS[one.state]},{' '}
                  {whenRead(one.createdAt, zone, now)}
                </span>
              </li>
            ))}
          </ul>
        </section>
      )}
    </div>
  );
}

/** Spreadsheets still write Windows-1252; bytes that are not UTF-8 are read as that. */
async function readText(file: File): Promise<string> {
  const bytes = new Uint8Array(await file.arrayBuffer());
  const wide = bytes[0] === 0xff && bytes[1] === 0xfe ? 'utf-16le' : null;
  try {
    return new TextDecoder(wide ?? 'utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}
