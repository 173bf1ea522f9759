/** What is known about a vehicle, each value with where it came from. A profile may be as small as two words. */
import { z } from 'zod';

export const INDUCTIONS = ['naturally aspirated', 'turbocharger', 'supercharger', 'twin-charged'] as const;
export const SOURCES = ['entered', 'handbook', 'baseline run', 'default'] as const;

/** A plain number is taken as entered; `{ value, source }` says where it came from. */
const sourced = (low: number, high: number) =>
  z.union([
    z
      .number()
      .min(low)
      .max(high)
      .transform((value) => ({ value, source: 'entered' as (typeof SOURCES)[number] })),
    z.strictObject({ value: z.number().min(low).max(high), source: z.enum(SOURCES) }),
  ]);

export const profileSchema = z.strictObject({
  name: z.string().max(200).optional(),
  induction: z.enum(INDUCTIONS).optional(),
  fuel: z.enum(['petrol', 'diesel']).optional(),
  /** Belt-driven compressor with a magnetic clutch (true) or always driven (false). */
  clutch: z.boolean().optional(),
  /** Engine speed, rpm, up to which the clutch closes at any high demand. */
  clutchBandTopRpm: sourced(500, 9000).optional(),
  /** Engine speed, rpm, up to which the clutch closes on a sudden demand; above it the turbocharger is alone. */
  handOverRpm: sourced(500, 9000).optional(),
  /** Pedal or throttle, %, from which the clutch is expected to close. */
  engagementDemandPct: sourced(5, 100).optional(),
  /** Full-demand boost over engine speed, gauge kPa. */
  expectedBoost: z
    .strictObject({
      source: z.enum(SOURCES),
      points: z
        .array(z.strictObject({ rpm: z.number().min(0).max(9000), kpa: z.number().min(-20).max(400) }))
        .min(2)
        .max(200),
    })
    .optional(),
  baroKpa: sourced(50, 110).optional(),
  thermostatC: sourced(40, 130).optional(),
  fanOnC: sourced(60, 130).optional(),
  coolantLimitC: sourced(80, 140).optional(),
});

export type Profile = z.output<typeof profileSchema>;

/** Where the profile says nothing: hotter coolant is too hot for any engine in health (common practice, no source). */
export const DEFAULT_COOLANT_LIMIT_C = 105;
