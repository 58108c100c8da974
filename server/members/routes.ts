import { get, go, post, type Route } from '../core/routes.ts';
import { revokeOwnToken, saveOwn, saveOwnPassword } from './actions/change-own.ts';
import { setActivity, setRole } from './actions/change-person.ts';
import { showDeviceGuide } from './actions/device-guide.tsx';
import { pairThisScreen, prepareTablet, revokeTablet, showDevices } from './actions/devices.tsx';
import { invitePerson, resetPerson, showInvite } from './actions/hand-link.tsx';
import { saveDay, sendAgain, showMail } from './actions/mail.tsx';
import { makeOwnToken } from './actions/make-token.tsx';
import { showMe } from './actions/me.tsx';
import { readMessages, showMessages, showUnread } from './actions/messages.tsx';
import { endOwnCard, endOwnPin, makeOwnCard, saveOwnPin } from './actions/own-card.tsx';
import { pairByTypedCode, showPair, showUnpaired } from './actions/pair.tsx';
import { showPeople } from './actions/people.tsx';
import { acceptReset, showReset } from './actions/reset.tsx';
import {
  beginOwnFactor,
  confirmOwnFactor,
  endFactorOfOwn,
  endFactorOfSomebody,
  renewOwnCodes,
  showSecondFactor,
} from './actions/second-factor.tsx';
import { setUp, showSetUp } from './actions/set-up.tsx';
import { enterCode, enterStudio, showCode, showSignIn } from './actions/sign-in.tsx';
import { leave, leaveEverywhere } from './actions/sign-out.ts';
import { saveStudio, showStudio } from './actions/studio.tsx';
import { saveTold, showTold } from './actions/told.tsx';
import { acceptWelcome, showWelcome } from './actions/welcome.tsx';

export const memberRoutes: Route[] = [
  get('/setup', 'public', (visit) => showSetUp(visit)),
  post('/setup', 'public', setUp),
  get('/sign-in', 'public', showSignIn),
  post('/sign-in', 'public', enterStudio),
  get('/sign-in/code', 'public', showCode),
  post('/sign-in/code', 'public', enterCode),
  post('/sign-out', 'public', leave),
  get('/welcome/:secret', 'public', (visit) => showWelcome(visit)),
  post('/welcome/:secret', 'public', acceptWelcome),
  get('/reset/:secret', 'public', (visit) => showReset(visit)),
  post('/reset/:secret', 'public', acceptReset),

  get('/pair', 'public', (visit) => showPair(visit)),
  post('/pair', 'public', pairByTypedCode),
  get('/unpaired', 'public', showUnpaired),

  get('/me', 'own.page', (visit) => showMe(visit)),
  post('/me', 'own.page', saveOwn),
  post('/me/password', 'own.page', saveOwnPassword),
  post('/me/sign-out-everywhere', 'own.sign-in', leaveEverywhere),
  get('/me/second-factor', 'own.sign-in', (visit) => showSecondFactor(visit)),
  post('/me/second-factor', 'own.sign-in', beginOwnFactor),
  // Where a form's answer is loaded anew.
  get('/me/second-factor/:form', 'own.sign-in', async () => go('/me/second-factor')),
  post('/me/second-factor/confirm', 'own.sign-in', confirmOwnFactor),
  post('/me/second-factor/codes', 'own.sign-in', renewOwnCodes),
  post('/me/second-factor/end', 'own.sign-in', endFactorOfOwn),
  post('/me/pin', 'own.page', saveOwnPin),
  post('/me/pin/end', 'own.page', endOwnPin),
  post('/me/card', 'own.page', makeOwnCard),
  post('/me/card/end', 'own.page', endOwnCard),
  get('/guide/devices', 'own.page', showDeviceGuide),
  post('/me/tokens', 'own.tokens', makeOwnToken),
  post('/me/tokens/revoke', 'own.tokens', revokeOwnToken),
  get('/me/told', 'own.page', (visit) => showTold(visit)),
  post('/me/told', 'own.page', saveTold),
  get('/messages', 'own.page', showMessages),
  get('/me/unread', 'own.page', showUnread),
  post('/messages', 'own.page', readMessages),

  get('/people', 'people.see', (visit) => showPeople(visit)),
  get('/people/invite', 'people.invite-member', (visit) => showInvite(visit)),
  post('/people/invite', 'people.invite-member', invitePerson),
  post('/people/reset-link', 'people.reset-member', resetPerson),
  post('/people/second-factor/end', 'people.end-factor', endFactorOfSomebody),
  post('/people/role', 'people.set-role', setRole),
  post('/people/activity', 'people.deactivate', setActivity),

  get('/devices', 'devices.edit', (visit) => showDevices(visit)),
  post('/devices', 'devices.edit', prepareTablet),
  post('/devices/here', 'devices.edit', pairThisScreen),
  post('/devices/revoke', 'devices.edit', revokeTablet),

  get('/mail', 'mail.see', (visit) => showMail(visit)),
  post('/mail/again', 'mail.see', sendAgain),
  post('/mail/day', 'studio.edit', saveDay),

  get('/studio', 'studio.edit', (visit) => showStudio(visit)),
  post('/studio', 'studio.edit', saveStudio),
];
