import { expect, it } from 'vitest';
import { signature } from '../../server/today/hook-call.ts';

// Standard Webhooks 1.0 (github.com/standard-webhooks/standard-webhooks): the vector that its own libraries are tested
// with, such as libraries/python/tests and libraries/rust/src.
it('signs as the published vector', () => {
  expect(
    signature(
      'whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw',
      'msg_p5jXN8AQM9LWM0D4loKWxJek',
      1_614_265_330,
      '{"test": 2432232314}',
    ),
  ).toBe('v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=');
});
