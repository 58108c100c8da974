import type { Instant } from '../../server/core/clock.ts';
import { may, type Role } from '../../server/core/policy.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { Choice, Field, Form, Submit } from '../ui/field.tsx';
import { Notice } from '../ui/panel.tsx';
import { ROLE_OPTIONS } from './roles.ts';

export function InvitePage({ role, form }: { role: Role; form: FormState }) {
  const staff = may(role, 'people.invite-staff');
  return (
    <>
      <h1>Invite somebody</h1>
      <p class="narrow">You get a link to hand over yourself. Wareboard sends no mail.</p>
      <Form action="/people/invite" form={form} hidden={{ role: staff ? undefined : 'member' }}>
        <Field
          name="email"
          label="Their e-mail address"
          hint="They sign in with it."
          type="email"
          autocomplete="off"
        />
        {staff ? (
          <Choice name="role" label="As" value="member" options={ROLE_OPTIONS} />
        ) : (
          <p class="hint">They join as a member. A manager invites technicians and managers.</p>
        )}
        <Submit label="Make the invitation" />
      </Form>
    </>
  );
}

interface HandLinkProps {
  title: string;
  whom: string;
  url: string;
  expiresAt: Instant;
  now: Instant;
  timeZone: string;
}

export function HandLinkPage({ title, whom, url, expiresAt, now, timeZone }: HandLinkProps) {
  return (
    <>
      <h1>{title}</h1>
      <Notice title="Copy it now">
        <p>
          It is shown this once. It works once, until {shownTime(expiresAt, now, timeZone)}, for whoever has
          it: give it to {whom} and nobody else.
        </p>
      </Notice>
      <div class="form">
        <Field
          name="link"
          label={`Link for ${whom}`}
          value={url}
          readOnly
          spellcheck={false}
          autocomplete="off"
        />
      </div>
      <p>
        <a class="plain" href="/people">
          I have copied it
        </a>
      </p>
    </>
  );
}
