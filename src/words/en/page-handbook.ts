/** English: the handbook inside the page: the road test, what one sees and what to do, what to send. */
export const handbook = {
  'handbook.title': 'Handbook',
  'handbook.guide': 'The first road test, step by step',
  'handbook.step.1':
    'Two people: one drives, one rides along with the laptop. Alone: sound on, glance view, nobody touches the laptop while the car moves.',
  'handbook.step.2':
    'Ignition off: plug the adapter in, route the cable clear of pedals, belts and fans. Ignition on, Connect, then Start recording; wait ten seconds before you start the engine. The standing engine gives the barometric pressure and compares the sensors.',
  'handbook.step.3':
    'Drive what is named. The next leg says how it is driven, why, and when it counts; it ticks itself off with three rising tones. Full-load pulls only where they are legal and safe.',
  'handbook.step.4':
    'Two short rising tones: the engagement held. Falling tones: it was missed. In the glance view, quiet means fine, and the beating square proves that the page lives.',
  'handbook.step.5':
    'Two tones to and fro, again and again: coolant. Stop where it is safe. Never open a hot cooling system. A or the space bar silences it for a minute.',
  'handbook.step.6':
    'Three low tones: the link is lost. Do nothing while you drive: it reconnects by itself, and the gap stays a gap.',
  'handbook.step.7':
    'At warm idle, and again at raised engine speed, the page asks for the heater, the fan and the noise: what no sensor tells.',
  'handbook.step.8':
    'Stop, twice. Findings begin with the whole drive in one sentence; then each fault with its cause, what was shown good, and what was not shown with what to drive for it.',
  'handbook.symptoms': 'What you see, and what to do',
  'handbook.see.1': 'There is no port, or it is in use',
  'handbook.do.1':
    'Plug the adapter in, pair a wireless one in the system first, close the other program: only one can hold a serial port. Where this user may not open it, the message names the one command.',
  'handbook.see.2': 'Nothing answers',
  'handbook.do.2':
    'No power: is the adapter fully home, is its lamp lit? The wrong port: unplug, look at the list, plug in, look again. Asleep: unplug it from car and laptop for ten seconds.',
  'handbook.see.3': 'Something answers, but not as an adapter',
  'handbook.do.3':
    'Another device or another line speed: choose another port, or give the speed. Left in the middle by another program: unplug the adapter and plug it in again.',
  'handbook.see.4': 'The adapter answers, the vehicle does not',
  'handbook.do.4':
    'Ignition on, engine may stay off, wait five seconds. A sleeping gateway: open a door. Too little voltage at the connector: its fuse, pins 4, 5 and 16. Unplug other devices. A car that is known to answer tells adapter from vehicle.',
  'handbook.see.5': 'A signal is missing',
  'handbook.do.5':
    'The page says why: not offered, refused, or no answer; it is asked again by itself. An implausible value is kept, flagged and not used: look at the sensor.',
  'handbook.see.6': 'It is slow',
  'handbook.do.6':
    'Compare values a second with the link limit on Connect. At the limit only a faster adapter, a higher line speed or fewer signals help.',
  'handbook.see.7': 'Discarded bytes grow',
  'handbook.do.7':
    'Bad cable, line speed or wireless at its limit: shorter cable, lower speed, nearer, another socket. They are kept with their reason and never become a value.',
  'handbook.see.8': 'The link is lost again and again',
  'handbook.do.8':
    'With the starter: charge the battery, connect after the start. On bumps: a loose plug. After quiet minutes: switch USB power saving off, keep the lid open. Falls silent until unplugged: another adapter.',
  'handbook.see.9': 'Codes do not clear',
  'handbook.do.9':
    'Ignition on, engine off. Permanent codes stay until the vehicle itself has proved the repair. A code that is back at once is a fault that is there now.',
  'handbook.see.10': 'No sound',
  'handbook.do.10':
    'The browser lets no page sound before it was touched once: press any key or tap the page. Where two tabs are open, one sounds.',
  'handbook.see.11': 'A leg stays open although it was driven',
  'handbook.do.11':
    'Read when it counts. The most frequent: coolant not yet warm, pedal not far enough down, more than one gear in the pull.',
  'handbook.see.12': 'This page has lost Handback',
  'handbook.do.12':
    'See whether the program still runs. What it records is not touched by the page; the page joins again by itself and draws everything.',
  'handbook.licences': 'Licences of what is inside',
  'handbook.report': 'When something is wrong',
  'handbook.report-lead':
    'One file for whoever is to help: versions, log, how the connection stands, and what the adapter said since the last connect. Plate, VIN, names, places and folders are left out. Nothing is sent: read the file, then send it yourself.',
  'handbook.report-show': 'Show the file',
  'handbook.report-save': 'Save the file',
} as const;
