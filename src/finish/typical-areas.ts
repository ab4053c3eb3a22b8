/**
 * Roughly how much steel there is to paint on a machine, both sides of a sheet, for a first estimate before anybody
 * has measured: common practice, no source. Surfaces that grow with the clearing width are stated for 600 mm.
 */
export type MachineKind = 'singleStageThrower' | 'twoStageThrower' | 'walkBehindMower' | 'other';

interface Surface {
  surface: string;
  squareMetres: number;
  growsWithWidth: boolean;
}

const typical: Record<MachineKind, readonly Surface[]> = {
  singleStageThrower: [
    { surface: 'auger housing', squareMetres: 0.9, growsWithWidth: true },
    { surface: 'chute', squareMetres: 0.3, growsWithWidth: false },
    { surface: 'handle and frame', squareMetres: 0.4, growsWithWidth: false },
  ],
  twoStageThrower: [
    { surface: 'auger housing', squareMetres: 1.5, growsWithWidth: true },
    { surface: 'auger and impeller', squareMetres: 0.6, growsWithWidth: true },
    { surface: 'chute', squareMetres: 0.5, growsWithWidth: false },
    { surface: 'engine bed and gear case', squareMetres: 0.6, growsWithWidth: false },
    { surface: 'handles and panel', squareMetres: 0.4, growsWithWidth: false },
  ],
  walkBehindMower: [
    { surface: 'deck', squareMetres: 0.9, growsWithWidth: false },
    { surface: 'handle', squareMetres: 0.2, growsWithWidth: false },
  ],
  other: [{ surface: 'whole machine', squareMetres: 1.5, growsWithWidth: false }],
};

/** @param clearingWidthMillimetres when known */
export function typicalAreas(
  kind: MachineKind,
  clearingWidthMillimetres: number | null,
): { surface: string; squareMetres: number }[] {
  const share = clearingWidthMillimetres === null ? 1 : clearingWidthMillimetres / 600;
  return typical[kind].map(({ surface, squareMetres, growsWithWidth }) => ({
    surface,
    squareMetres: Math.round(squareMetres * (growsWithWidth ? share : 1) * 100) / 100,
  }));
}
