import type { WrittenReading } from '../../server/kilns/service/index.ts';
import { Form, NumberField, Submit } from '../ui/field.tsx';
import { Empty, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { Agreed, BurnerCaution } from './firing-check.tsx';
import {
  AskWhom,
  degrees,
  FiringFoot,
  FiringHead,
  type FiringProps,
  noteField,
  notNow,
  StrikeOut,
  Written,
} from './firing-parts.tsx';
import { HeatCaution, loadAddress } from './load-parts.tsx';

const WHERE: Record<string, string> = {
  'gas-reading': 'hand log',
  'shut-off': 'at shut-off',
  opened: 'at opening',
  unloaded: 'at unloading',
};

/** The pyrometer, typed: while it fires and while it cools. */
export function ReadingsPage({ firing, form, done, reader }: FiringProps) {
  const { load, isThere, startedWithout } = firing;
  const at = loadAddress(load.number);
  const isOn = load.state === 'firing' || load.state === 'cooling';
  return (
    <>
      <FiringHead load={load} title="Pyrometer" done={done} undo={undoOf(firing, reader, 'started')} />
      {load.state !== 'firing' && <HeatCaution load={load} />}
      {load.kiln.power === 'gas' && load.state === 'firing' && (
        <BurnerCaution emergency={load.kiln.emergency} />
      )}
      {isThere && isOn ? (
        <>
          <Form action={`${at}/readings`} form={form} idempotencyKey={`${reader.key}-reading`}>
            <NumberField name="celsius" label="It says" unit="°C" big />
            {notNow(form, reader)}
            {noteField()}
            <Submit label="Keep this reading" />
          </Form>
          {load.state === 'firing' && (
            <p class="row">
              {load.kiln.power === 'gas' && <PlainAct href={`${at}/gas`} label="Hand log" />}
              <PlainAct href={`${at}/shut-off`} label="It is shut off" />
            </p>
          )}
        </>
      ) : isOn ? (
        <AskWhom load={load} what="write down what it says, and technicians" />
      ) : (
        <p>It is {load.state}: there is nothing to read.</p>
      )}
      {startedWithout !== null && isThere && <StartedWithout {...startedWithout} />}
      {load.state === 'firing' && <Agreed firing={firing} reader={reader} />}
      <Readings {...{ firing, form, done, reader }} />
      {load.state === 'firing' && <HeatCaution load={load} />}
      <FiringFoot load={load} here="readings" reader={reader} />
    </>
  );
}

function StartedWithout({ open, found, against, why }: NonNullable<FiringProps['firing']['startedWithout']>) {
  const count = open.length + found.length;
  if (count + against.length === 0) return null;
  return (
    <Notice title={count > 0 ? `Started with ${count} open` : 'Started all the same'}>
      {against.length > 0 && <p>{against.join(' ')}</p>}
      <p>{why ?? 'Nobody said why.'}</p>
    </Notice>
  );
}

function Readings({ firing, reader }: FiringProps) {
  const { readings, load, isThere } = firing;
  if (readings.length === 0)
    return (
      <Empty title="No reading yet">
        <p>The first one starts the curve.</p>
      </Empty>
    );
  const mayStrike = isThere && load.state !== 'unloaded';
  return (
    <Panel title="Read so far">
      <Table
        columns={[
          { label: '°C', number: true },
          { label: 'When', main: true },
          ...(mayStrike ? [{ label: 'Wrong?' }] : []),
        ]}
        rows={readings.map((one) => ({
          key: one.number,
          struck: one.isStruck,
          cells: [
            degrees(one.c),
            <>
              <Written at={one.at} by={one.by} note={one.note} reader={reader} />
              {WHERE[one.kind] && <small class="soft"> · {WHERE[one.kind]}</small>}
            </>,
            ...(mayStrike
              ? [
                  isStrikable(one) ? (
                    <StrikeOut
                      load={load.number}
                      event={one.number}
                      what={`number ${one.number}`}
                      back="readings"
                      reader={reader}
                    />
                  ) : (
                    ''
                  ),
                ]
              : []),
          ],
        }))}
      />
    </Panel>
  );
}

/** What belongs to an act of its own is taken back with that act. */
const isStrikable = ({ kind, isStruck }: WrittenReading): boolean =>
  !isStruck && (kind === 'reading' || kind === 'gas-reading' || kind === 'opened');

/** What takes back the last start, shut-off or opening, for the flash that says it was done. */
export function undoOf(
  { undo, load }: FiringProps['firing'],
  reader: FiringProps['reader'],
  kind: 'started' | 'shut-off' | 'opened',
): Parameters<typeof FiringHead>[0]['undo'] {
  if (undo?.kind !== kind) return undefined;
  const words = {
    started: 'It was not started',
    'shut-off': 'It is not off yet',
    opened: 'It was not opened',
  };
  return {
    action: `${loadAddress(load.number)}/strike-out`,
    label: words[kind],
    idempotencyKey: `${reader.key}-undo`,
    fields: { event: undo.event, reason: 'By mistake.', back: '' },
  };
}

/** The end of a firing: power or burners are off. */
export function ShutOffPage({ firing, form, done, reader }: FiringProps) {
  const { load, isThere } = firing;
  const { kiln } = load;
  return (
    <>
      <FiringHead load={load} title="Shut off" done={done} />
      <HeatCaution load={load} />
      {kiln.emergency && (
        <Notice title="To shut it off" tone="do-not-use">
          <p class="lines-kept">{kiln.emergency}</p>
        </Notice>
      )}
      {load.measuredC !== null && load.measuredAt !== null && (
        <p>
          <Written at={load.measuredAt} by={null} reader={reader}>
            Last read: {degrees(load.measuredC)}
          </Written>
        </p>
      )}
      {isThere && load.state === 'firing' ? (
        <Form
          action={`${loadAddress(load.number)}/shut-off`}
          form={form}
          idempotencyKey={`${reader.key}-off`}
        >
          <NumberField
            name="celsius"
            label="The pyrometer says"
            hint="Where it stands as the heat goes off."
            unit="°C"
            optional
          />
          {notNow(form, reader)}
          {noteField('Note', 'Which cone was down, why it was stopped.')}
          <Submit
            label="It is off"
            small={
              kiln.power === 'gas'
                ? 'All burners and the valve of the gas.'
                : 'The controller and the switch at the wall.'
            }
          />
        </Form>
      ) : (
        <AskWhom load={load} what="say that it is off, and technicians" />
      )}
      <FiringFoot load={load} here="shut-off" reader={reader} />
    </>
  );
}
