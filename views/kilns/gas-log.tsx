import { MINUTE } from '../../server/core/clock.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { PRESSURE_KPA, type PressureUnit } from '../../server/kilns/firing-record.ts';
import { durationWords } from '../../server/kilns/schedule.ts';
import type { WrittenLine } from '../../server/kilns/service/index.ts';
import { Beside, Field, Form, NumberField, Select, Submit } from '../ui/field.tsx';
import { Empty, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
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
} from './firing-parts.tsx';
import { HeatCaution, loadAddress } from './load-parts.tsx';
import { listed } from './load-words.ts';

const UNITS: { value: PressureUnit; label: string }[] = [
  { value: 'mbar', label: 'mbar' },
  { value: 'kPa', label: 'kPa' },
  { value: 'psi', label: 'psi' },
  { value: 'inH2O', label: 'in of water' },
];

/** The hand log of a kiln with burners, a line every half hour. */
export function GasLogPage({ firing, form, done, reader }: FiringProps) {
  const { load, lines, nextLineAt, reductions, isThere } = firing;
  const isOn = load.state === 'firing' || load.state === 'cooling';
  const last = lines.findLast(({ isStruck }) => !isStruck);
  const isReducing = reductions.at(-1)?.to === null;
  const at = (instant: number) => shownTime(instant, reader.now, reader.timeZone);
  return (
    <>
      <FiringHead load={load} title="Hand log" done={done} />
      {load.state === 'firing' && <BurnerCaution emergency={load.kiln.emergency} />}
      {nextLineAt !== null &&
        (nextLineAt < reader.now ? (
          <Notice title="A line is due" tone="needs-reading">
            <p>{lateWords(reader.now - nextLineAt)}</p>
          </Notice>
        ) : (
          <p>
            The next line is due <b>{at(nextLineAt)}</b>.
          </p>
        ))}
      <Agreed firing={firing} reader={reader} />
      {isThere && isOn ? (
        <Form
          action={`${loadAddress(load.number)}/gas`}
          form={form}
          idempotencyKey={`${reader.key}-gas-${lines.length}`}
        >
          <Beside>
            <NumberField name="topC" label="Top" unit="°C" />
            <NumberField name="bottomC" label="Bottom" unit="°C" optional />
          </Beside>
          <Beside>
            <NumberField name="pressure" label="Gas pressure" optional />
            <Select name="pressureUnit" label="In" value={last?.pressureUnit ?? 'mbar'} options={UNITS} />
          </Beside>
          <Beside>
            <NumberField name="damper" label="Damper open" unit="%" value={last?.damper} optional />
            <NumberField name="oxygen" label="Oxygen" unit="%" optional />
          </Beside>
          <Select
            name="reduction"
            label="Reduction"
            none={isReducing ? 'Goes on' : 'None, as before'}
            options={
              isReducing ? [{ value: 'ends', label: 'Ends now' }] : [{ value: 'begins', label: 'Begins now' }]
            }
            optional
          />
          <Field
            name="down"
            label="Cones down"
            hint="All that are down by now: 5, 6."
            value={last?.down?.join(', ')}
            maxlength={60}
            optional
          />
          {notNow(form, reader)}
          {noteField()}
          <Submit label="Write this line" small="Signed with your initials." />
        </Form>
      ) : isOn ? (
        <AskWhom load={load} what="write in it, and technicians" />
      ) : null}
      {lines.length === 0 ? (
        <Empty title="No line yet" />
      ) : (
        <Panel title="The log">
          <Table
            columns={[
              { label: 'When', main: true },
              { label: 'Top °C', number: true, keepLabel: true },
              { label: 'Bottom °C', number: true, keepLabel: true },
              { label: 'Pressure', keepLabel: true },
              { label: 'Damper', number: true, keepLabel: true },
              { label: 'O₂', number: true, keepLabel: true },
              { label: 'Reduction' },
              { label: 'Cones down', keepLabel: true },
              { label: 'By', keepLabel: true },
              ...(isThere && isOn ? [{ label: 'Wrong?' }] : []),
            ]}
            rows={[...lines].reverse().map((line) => ({
              key: line.number,
              struck: line.isStruck,
              cells: [
                <>
                  {at(line.at)}
                  {line.note && <small class="soft"> “{line.note}”</small>}
                </>,
                degrees(line.topC),
                line.bottomC === undefined ? '' : degrees(line.bottomC),
                pressureWords(line),
                line.damper === undefined ? '' : `${line.damper} %`,
                line.oxygen === undefined ? '' : `${line.oxygen} %`,
                line.reduction === undefined ? '' : `reduction ${line.reduction}`,
                line.down ? line.down.join(', ') : '',
                line.by ?? '',
                ...(isThere && isOn
                  ? [
                      line.isStruck ? (
                        ''
                      ) : (
                        <StrikeOut
                          load={load.number}
                          event={line.number}
                          what={`line ${line.number}`}
                          back="gas"
                          reader={reader}
                        />
                      ),
                    ]
                  : []),
              ],
            }))}
          />
          {reductions.length > 0 && (
            <p>
              Reduction{' '}
              {listed(
                reductions.map(({ from, to }) => `${at(from)} ${to === null ? 'until now' : `to ${at(to)}`}`),
              )}
              .
            </p>
          )}
        </Panel>
      )}
      <HeatCaution load={load} />
      <FiringFoot load={load} here="gas" reader={reader} />
    </>
  );
}

const lateWords = (ms: number): string =>
  ms < MINUTE ? 'It is due now.' : `It was due ${durationWords(ms / 1000)} ago.`;

const pressureIn = ({ pressureKPa = 0, pressureUnit = 'kPa' }: WrittenLine): string =>
  String(Number((pressureKPa / PRESSURE_KPA[pressureUnit]).toPrecision(4)));

const pressureWords = (line: WrittenLine): string =>
  line.pressureKPa === undefined
    ? ''
    : `${pressureIn(line)} ${UNITS.find(({ value }) => value === line.pressureUnit)?.label ?? 'kPa'}`;
