import { get, post, type Route } from '../core/routes.ts';
import { revokeOwnToken, saveOwn, saveOwnPassword } from './actions/change-own.ts';
import { setActivity, setRole } from './actions/change-person.ts';
import { pairThisScreen, prepareTablet, revokeTablet, showDevices } from './actions/devices.tsx';
import { invitePerson, resetPerson, showInvite } from './actions/hand-link.tsx';
import { makeOwnToken } from './actions/make-token.tsx';
import { showMe } from './actions/me.tsx';
import { readMessages, showMessages } from './actions/messages.tsx';
import { endOwnCard, endOwnPin, makeOwnCard, saveOwnPin } from './actions/own-card.tsx';
import { pairByTypedCode, showPair, showUnpaired } from './actions/pair.tsx';
import { showPeople } from './actions/people.tsx';
import { acceptReset, showReset } from './actions/reset.tsx';
import { setUp, showSetUp } from './actions/set-up.tsx';
import { enterStudio, showSignIn } from './actions/sign-in.tsx';
import { leave, leaveEverywhere } from './actions/sign-out.ts';
import { saveStudio, showStudio } from './actions/studio.tsx';
import { acceptWelcome, showWelcome } from './actions/welcome.tsx';

export const memberRoutes: Route[] = [
  get('/setup', 'public', (visit) => showSetUp(visit)),
  post('/setup', 'public', setUp),
  get('/sign-in', 'public', showSignIn),
  post('/sign-in', 'public', enterStudio),
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
  post('/me/sign-out-everywhere', 'own.page', leaveEverywhere),
  post('/me/pin', 'own.page', saveOwnPin),
  post('/me/pin/end', 'own.page', endOwnPin),
  post('/me/card', 'own.page', makeOwnCard),
  post('/me/card/end', 'own.page', endOwnCard),
  post('/me/tokens', 'own.tokens', makeOwnToken),
  post('/me/tokens/revoke', 'own.tokens', revokeOwnToken),
  get('/messages', 'own.page', showMessages),
  post('/messages', 'own.page', readMessages),

  get('/people', 'people.see', (visit) => showPeople(visit)),
  get('/people/invite', 'people.invite-member', (visit) => showInvite(visit)),
  post('/people/invite', 'people.invite-member', invitePerson),
  post('/people/reset-link', 'people.reset-member', resetPerson),
  post('/people/role', 'people.set-role', setRole),
  post('/people/activity', 'people.deactivate', setActivity),

  get('/devices', 'devices.edit', (visit) => showDevices(visit)),
  post('/devices', 'devices.edit', prepareTablet),
  post('/devices/here', 'devices.edit', pairThisScreen),
  post('/devices/revoke', 'devices.edit', revokeTablet),

  get('/studio', 'studio.edit', (visit) => showStudio(visit)),
  post('/studio', 'studio.edit', saveStudio),
];
