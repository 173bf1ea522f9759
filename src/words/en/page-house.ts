/** English: Handback itself on the page: its library, help, the end of it. */
export const house = {
  'house.title': 'Handback itself',
  'house.version': 'Version {$version}. Everything stays on this computer.',
  'house.library': 'Your jobs and drives lie in {$folder}. Copying this folder is a full backup.',
  'house.library-next':
    'From the next start on the library is {$folder}. What lies in the old one stays there.',
  'house.library-named': 'This place was named at the start.',
  'house.folder': 'Another folder, from the next start on',
  'house.choose': 'Use this folder',
  'house.quit': 'Quit Handback',
  'house.quit-recording': 'A drive is being recorded. Quitting ends it; everything up to now is kept.',
  'house.quit-end': 'End the recording and quit',
  'house.stay': 'Go on recording',
  'house.ended': 'Handback has ended. Everything is kept; this page can be closed.',
  'house.elsewhere': 'Library, help files and the end of the program are offered on the computer itself.',
} as const;
