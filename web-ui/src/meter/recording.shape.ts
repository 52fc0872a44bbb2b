// What the screen for recordings relies on in the box's answers.

import * as v from 'valibot';

const Level = v.nullable(v.number());
const Levels = v.object({ LAeq: Level, LCeq: Level, LZeq: Level, LAFmax: Level, LCpeak: Level, LA10: Level, LA50: Level, LA90: Level });
const Band = v.object({ band: v.number(), level: v.number(), random_error: Level, too_short: v.boolean() });

/** What the box makes of a recording. */
export const Measured = v.object({
  hash: v.string(),
  format: v.string(),
  sample_rate_hz: v.number(),
  channels: v.number(),
  channel: v.number(),
  duration_s: v.number(),
  calibrated: v.boolean(),
  calibration: v.nullable(v.string()),
  levels: Levels,
  levels_uncut: v.nullable(Levels),
  third_octaves: v.array(Band),
  oddities: v.array(v.string()),
  cut_out: v.array(v.string()),
  history: v.array(v.object({ from_s: v.number(), duration_s: v.number(), LAeq: Level, LAFmax: Level })),
  hearing: v.nullable(v.string()),
  reading: v.nullable(
    v.object({
      subject: v.string(),
      value: v.string(),
      response: v.string(),
      duration_s: v.string(),
      bands: v.nullable(v.string()),
      calibration: v.nullable(v.string()),
      cut_out: v.nullable(v.string()),
      clipped: v.nullable(v.string()),
      lossy: v.nullable(v.string()),
    }),
  ),
  no_reading_because: v.nullable(v.string()),
});
export type Measured = v.InferOutput<typeof Measured>;
export type MeasuredReading = NonNullable<Measured['reading']>;
