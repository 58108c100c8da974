import { DevicesPage, PairingCodePage } from '../../../views/members/devices.tsx';
import { printedAddress } from '../../core/address.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { deviceForm } from '../forms.ts';
import { endDevice, listDevices, pairHere, preparePairing } from '../service/devices.ts';
import { absolute, actInSecret, becomeTablet, sentTablet } from '../visit.ts';

export async function showDevices(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const devices = await listDevices(visit.read);
  const { now, studio, query } = visit;
  const ended = query.ended !== undefined;
  return page(
    'Wall tablets',
    'people',
    <DevicesPage {...{ devices, ended, now, form }} timeZone={studio.timeZone} newKey={randomSecret()} />,
  );
}

/** Shows a code to type on the tablet, and its address to open there. */
export async function prepareTablet(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showDevices(visit, form),
    async () => {
      const { name } = visit.form(deviceForm);
      const pairing = await actInSecret(visit, (act) => preparePairing(act, name));
      const path = `/pair?code=${pairing.code}`;
      const { now, studio } = visit;
      return page(
        'Pair the tablet',
        'people',
        <PairingCodePage
          {...pairing}
          address={absolute(visit, '/pair')}
          scan={printedAddress(visit.services.config, path)}
          now={now}
          timeZone={studio.timeZone}
        />,
      );
    },
  );
}

export async function pairThisScreen(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showDevices(visit, form),
    async () => {
      const { name } = visit.form(deviceForm);
      const secret = await actInSecret(visit, (act) => pairHere(act, name, sentTablet(visit)));
      return go('/tablet?paired', await becomeTablet(visit, secret));
    },
  );
}

export async function revokeTablet(visit: Visit): Promise<Answer> {
  const { name } = visit.form(deviceForm);
  await visit.act((act) => endDevice(act, name));
  return go('/devices?ended');
}
