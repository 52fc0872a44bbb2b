// Every screen as it stands on the demo: name, address behind the `#`, heading. One list for the tests that look at all of them
// and for the pictures in README.md.

/** The screens. */
export const SCREENS = [
  ['today', '/', /20 May 2025/],
  ['log', '/log', 'Write a line'],
  ['days', '/days', 'All days'],
  ['tests', '/tests', /^Tests/],
  ['test', '/tests/Q1', /Q1/],
  ['test-rig', '/tests/Q5', /Q5/],
  ['read', '/tests/Q3/T16/read', /T16/],
  ['find', '/find?words=cellulose', /Find/],
  ['find-question', '/find?words=over+2+dB+at+the+duplex&sort=reduction', /Find/],
  ['find-alike', '/find?alike=A10&level=family', /Built like/],
  ['find-nothing', '/find?words=zzzqqq', /Find/],
  ['cautions', '/cautions?about=J5', /Cautions for J5/],
  ['waiting', '/waiting', /Waiting/],
  ['join', '/join', /Join/],
  ['missing', '/no/such/screen', /Not found/],
];
