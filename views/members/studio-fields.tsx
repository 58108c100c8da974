import type { Studio } from '../../server/core/actor.ts';
import { currencies } from '../../server/core/money.ts';
import { Choice, Select } from '../ui/field.tsx';

export const UNIT_OPTIONS = [
  { value: 'metric', label: 'Metric', hint: 'litres, kilograms, °C' },
  { value: 'us', label: 'US customary', hint: 'quarts, pounds, °F' },
];

/** `value` is among the options even where this server's own list no longer has it. */
export function TimeZoneSelect({ value }: { value: string }) {
  const zones = [...new Set(['UTC', ...Intl.supportedValuesOf('timeZone'), value])].sort();
  return (
    <Select
      name="timeZone"
      label="Time zone"
      hint="Times are shown as the clock on the studio's wall shows them."
      value={value}
      options={zones.map((zone) => ({ value: zone, label: zone.replaceAll('_', ' ') }))}
    />
  );
}

const currencyNames = new Intl.DisplayNames('en', { type: 'currency' });

export const currencyName = (code: string): string => `${code} · ${currencyNames.of(code) ?? code}`;

export const CurrencySelect = () => (
  <Select
    name="currency"
    label="Currency"
    hint="Fees are kept in it. It cannot be changed later."
    none="Choose a currency"
    options={currencies().map((code) => ({ value: code, label: currencyName(code) }))}
  />
);

export const UnitsChoice = ({ value }: { value: Studio['units'] }) => (
  <Choice
    name="units"
    label="Units"
    hint="Everybody can choose their own on their page."
    value={value}
    options={UNIT_OPTIONS}
  />
);
