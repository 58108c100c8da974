import { DeviceGuide } from '../../../views/members/device-guide.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { absolute } from '../visit.ts';

export async function showDeviceGuide(visit: Visit): Promise<Answer> {
  return page(
    'How an instrument sends a reading',
    'me',
    <DeviceGuide origin={new URL(absolute(visit, '/')).origin} />,
  );
}
