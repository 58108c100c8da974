import { type Answer, go, type Visit } from '../../core/routes.ts';
import { signOut, signOutEverywhere } from '../service/sign-in.ts';
import { sentSession } from '../visit.ts';

/** Open to everybody, so that it also ends where the session had ended before. */
export async function leave(visit: Visit): Promise<Answer> {
  await signOut(visit.services, visit.request.caller, sentSession(visit), visit.now);
  return go(visit.request.device ? '/tablet' : '/sign-in', visit.services.sessions.blankCookie());
}

export async function leaveEverywhere(visit: Visit): Promise<Answer> {
  const browsers = await visit.act(signOutEverywhere);
  return go(`/sign-in?out=${browsers}`, visit.services.sessions.blankCookie());
}
