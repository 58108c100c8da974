import { LogColumnsPage, LogPage } from '../../../views/kilns/log-import.tsx';
import { Invalid } from '../../core/errors.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import {
  choiceTyped,
  delimiterTyped,
  findLog,
  importForm,
  keepLog,
  type PreparedLog,
  packLog,
  pasteForm,
  prepareLog,
  previewLog,
  saveLog,
  showFiring,
  textOf,
} from '../service/index.ts';
import { loadNumber, loadReaderOf } from './load-reader.ts';

async function props(visit: Visit, form: FormState) {
  const number = loadNumber(visit);
  const [firing, current] = await Promise.all([showFiring(visit.read, number), findLog(visit.read, number)]);
  return { firing, current, form, reader: loadReaderOf(visit) };
}

/** The file first; an address that names one shows its columns. */
export async function showLog(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const { file } = visit.query;
  if (typeof file === 'string' && form.errors.length === 0) return showColumns(visit, file, null);
  return page('Log', 'kilns', <LogPage {...(await props(visit, form))} />);
}

async function showColumns(
  visit: Visit,
  file: string,
  form: FormState | null,
  tried: PreparedLog | null = null,
): Promise<Answer> {
  const preview = await previewLog(visit.read, file);
  const guessed = emptyForm({
    ...(preview.choice
      ? choiceTyped(preview.choice)
      : { skip: '0', timeForm: 'elapsed', delimiter: delimiterTyped(preview.delimiter) }),
  });
  const shown = await props(visit, form ?? guessed);
  return page(
    'Columns of the log',
    'kilns',
    <LogColumnsPage {...shown} file={file} preview={preview} tried={tried} />,
  );
}

/** Keeps the file that was sent, or the text that was pasted, and goes on to its columns. */
export const sendFile = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showLog(visit, form),
    async () => {
      const number = loadNumber(visit);
      const isPasted = visit.typed.text !== undefined;
      const packed = isPasted
        ? await packLog(visit.form(pasteForm).text, 'text')
        : await packLog(textOf(fileIn(visit)), 'log');
      await visit.act((act) => keepLog(act, number, packed));
      return go(`/kilns/loads/${number}/log?file=${packed.sha256}`);
    },
  );

function fileIn(visit: Visit): Buffer {
  const upload = visit.upload('log');
  const refuse = (message: string) => new Invalid([{ path: 'log', message }]);
  if (!upload) throw refuse('Choose the file.');
  if (upload.isTooLarge)
    throw refuse('The file is larger than 15 MB: export a shorter span or fewer columns.');
  return upload.bytes;
}

/** Reads the whole log by the chosen columns: to see what comes of it, or to keep it. */
export function importLog(visit: Visit): Promise<Answer> {
  const { typed } = visit;
  const { data: file = null } = importForm.shape.file.safeParse(typed.file);
  return visit.submit(
    (form) => (file === null ? showLog(visit, form) : showColumns(visit, file, form)),
    async () => {
      const number = loadNumber(visit);
      const prepared = await prepareLog(visit.read, number, visit.form(importForm));
      if (typed.do === 'try') return showColumns(visit, String(typed.file), emptyForm(typed), prepared);
      await visit.act((act) => saveLog(act, number, prepared));
      return go(`/kilns/loads/${number}/curve?did=log`);
    },
  );
}
