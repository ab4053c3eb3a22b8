import { expect, it } from '@jest/globals';
import { minutesInWords, roughWait, shortWorkTime } from './durations.js';

it('says a span as a person does, to a tenth', () => {
  expect([0, 1, 45, 60, 61, 90, 119, 150, 1440, 2880, 4260, 20160].map(minutesInWords)).toEqual([
    '0 minutes',
    '1 minute',
    '45 minutes',
    '1 hour',
    '61 minutes',
    '90 minutes',
    '119 minutes',
    '2.5 hours',
    '24 hours',
    '2 days',
    '3 days',
    '14 days',
  ]);
});

it('says how long work takes in few letters', () => {
  expect([0, 35, 60, 110, 65, 599, 600, 725].map(shortWorkTime)).toEqual([
    '0 min',
    '35 min',
    '1 h',
    '1 h 50',
    '1 h 05',
    '9 h 59',
    '10 h',
    '12 h',
  ]);
});

it('guesses a wait', () => {
  expect([0, 15, 300, 6 * 1440, 21 * 1440, 120 * 1440].map(roughWait)).toEqual([
    '1 minute',
    '15 minutes',
    'about 5 hours',
    'about 6 days',
    'about 3 weeks',
    'about 4 months',
  ]);
});
