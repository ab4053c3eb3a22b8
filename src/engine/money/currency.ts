import { EngineError } from '../error.js';

// ISO 4217, list one as published on 2024-06-25. Not taken from Intl: the locale data behind it rounds several
// currencies to whole units that ISO gives two or three decimals. Codes without minor units (metals, test codes,
// special drawing rights) are left out, since no shop keeps its books in them.
const CODES_BY_MINOR_UNITS: Record<number, string> = {
  0: 'BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF',
  2: `AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE CHF
      CHW CNY COP COU CRC CUC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG
      HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK
      MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE
      SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XCD YER ZAR ZMW ZWG`,
  3: 'BHD IQD JOD KWD LYD OMR TND',
  4: 'CLF UYW',
};

const MINOR_UNITS = new Map(
  Object.entries(CODES_BY_MINOR_UNITS).flatMap(([units, codes]) =>
    codes.split(/\s+/).map((code) => [code, Number(units)] as const),
  ),
);

/** Every currency code known here, in alphabetical order. */
export const currencyCodes: readonly string[] = [...MINOR_UNITS.keys()].sort();

/**
 * Decimals of a currency's minor unit by ISO 4217: 2 for USD, 0 for JPY, 3 for KWD.
 * @param currency a three-letter code in capitals
 * @throws EngineError `unknown-currency`
 */
export function minorUnits(currency: string): number {
  const units = MINOR_UNITS.get(currency);
  if (units === undefined)
    throw new EngineError('unknown-currency', `${JSON.stringify(currency)} is not a currency of ISO 4217`, 'currency');
  return units;
}
