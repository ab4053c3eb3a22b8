/** A calendar of whole days as RFC 5545 writes it, for any calendar program to subscribe to. */
import { addDays } from './days.js';

export interface CalendarDay {
  /** Stays the same while what it stands for does, so that a calendar moves it instead of adding another. */
  uid: string;
  day: string;
  summary: string;
  description: string;
}

export interface CalendarText {
  name: string;
  description: string;
  /** When what it says was found out. */
  stampedAt: Date;
  days: readonly CalendarDay[];
}

/** How often a program should look again. */
const REFRESH = 'PT1H';
/** The most octets of a line, its end not counted (RFC 5545, 3.1). */
const LINE_OCTETS = 75;

export function calendarText({ name, description, stampedAt, days }: CalendarText): string {
  const stamp = `${stampedAt.toISOString().slice(0, 19).replace(/[-:]/g, '')}Z`;
  const lines = [
    'BEGIN:VCALENDAR',
    'VERSION:2.0',
    'PRODID:-//Frostwright//Calendar//EN',
    'CALSCALE:GREGORIAN',
    'METHOD:PUBLISH',
    // RFC 7986 names it NAME; the X-property is what most programs read.
    `NAME:${escaped(name)}`,
    `X-WR-CALNAME:${escaped(name)}`,
    `DESCRIPTION:${escaped(description)}`,
    `REFRESH-INTERVAL;VALUE=DURATION:${REFRESH}`,
    `X-PUBLISHED-TTL:${REFRESH}`,
    ...days.flatMap((one) => [
      'BEGIN:VEVENT',
      `UID:${one.uid}`,
      `DTSTAMP:${stamp}`,
      `DTSTART;VALUE=DATE:${one.day.replaceAll('-', '')}`,
      // The day after: the end is not part of it.
      `DTEND;VALUE=DATE:${addDays(one.day, 1).replaceAll('-', '')}`,
      `SUMMARY:${escaped(one.summary)}`,
      `DESCRIPTION:${escaped(one.description)}`,
      'TRANSP:TRANSPARENT',
      'END:VEVENT',
    ]),
    'END:VCALENDAR',
  ];
  return lines.map((line) => `${folded(line)}\r\n`).join('');
}

/** RFC 5545, 3.3.11. */
const escaped = (text: string): string => text.replace(/[\\;,]/g, '\\$&').replace(/\r\n?|\n/g, '\\n');

/** RFC 5545, 3.1: a longer line goes on after a line end and a space; never within a character. */
function folded(line: string): string {
  const parts: string[] = [];
  let part = '';
  let octets = 0;
  for (const character of line) {
    const length = Buffer.byteLength(character);
    if (octets + length > LINE_OCTETS) {
      parts.push(part);
      part = '';
      // The space counts.
      octets = 1;
    }
    part += character;
    octets += length;
  }
  return [...parts, part].join('\r\n ');
}
