import { WaitingPage } from '../../../views/buckets/waiting.tsx';
import { page } from '../../core/routes.ts';

export const showWaiting = async () => page('Waiting to send', 'wall', <WaitingPage />);
