import { expect, test } from '@jest/globals';

test('what people typed is text and never markup', () => {
  const name = '<img src=x onerror=alert(1)> & "quotes"';
  const shown = (
    <p title={name}>
      {name} <b>{null}</b>
    </p>
  );
  expect(String(shown)).toBe(
    '<p title="&lt;img src=x onerror=alert(1)&gt; &amp; &quot;quotes&quot;">&lt;img ' +
      'src=x onerror=alert(1)&gt; &amp; &quot;quotes&quot; <b></b></p>',
  );
});
