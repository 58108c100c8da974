import { Field } from '../ui/field.tsx';
import { Notice } from '../ui/panel.tsx';

interface TokenProps {
  name: string;
  token: string;
  /** To something less than what its person may do. */
  isLimited: boolean;
}

export function TokenPage({ name, token, isLimited }: TokenProps) {
  return (
    <>
      <h1>Your new token</h1>
      <Notice title="Copy it now">
        <p>
          It is shown this once and kept nowhere. Whoever has it can{' '}
          {isLimited ? 'do what you let it do' : 'do what you can do'}, so keep it as you keep a password.
        </p>
      </Notice>
      <div class="form">
        <Field name="token" label={name} value={token} readOnly spellcheck={false} autocomplete="off" />
      </div>
      <p>
        A program sends it with every request, in a header: <code>Authorization: Bearer</code> and then the
        token.
      </p>
      <p>
        <a class="plain" href="/me">
          I have copied it
        </a>
      </p>
    </>
  );
}
