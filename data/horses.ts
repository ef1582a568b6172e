import type { Draw } from './random.ts';
import type { BreedType } from './truth.ts';
import type { Yard } from './yards.ts';

/** One row of the horses file. */
export interface HorseRow {
  horse_id: string;
  horse_name: string | null;
  client_id: string;
  breed: string | null;
  breed_type: BreedType | null;
  birth_year: number | null;
  sex: string | null;
  body_mass_kg: number | null;
}

export interface Horse {
  readonly row: HorseRow;
  readonly breedType: BreedType;
  readonly yard: Yard;
}

const NAMES =
  `Acorn Anvil Apricot Barley Bartleby Basil Beacon Bellows Biscuit Blaise Bobbin Bracket Bramble Bristol Brock
  Buckle Bumble Burdock Buttons Caramel Catkin Chaff Chestnut Clover Cobble Comfrey Conker Copper Cricket Crumpet Damson
  Dapper Dewdrop Dobbin Drummer Duchess Ember Fable Falcon Fennel Fern Ferry Fiddle Figaro Finch Flax Fleece Foxglove
  Fudge Gable Garnet Ginger Goblin Gorse Granite Grouse Hazel Heather Hobnob Holly Hopper Ivy Jasper Jigsaw Juniper
  Kestrel Kettle Lapwing Lark Lavender Lichen Linnet Loam Maple Marigold Marlow Medlar Merrow Mistral Monty Moonbeam
  Muffin Mulberry Mustard Nettle Nimbus Nutmeg Oatcake Onyx Orchid Osprey Otter Pansy Parsnip Pebble Pepper Petal Pickle
  Pigeon Pippin Plover Poppy Primrose Pudding Quill Quince Raven Ripple Rosehip Rufus Rumpus Russet Saffron Sage Scout
  Shadow Skylark Sorrel Sparrow Spindle Sprout Sunday Tansy Teasel Thimble Thistle Timber Toffee Truffle Tumble Velvet
  Willow Wren Yarrow`
    .split(/\s+/)
    .filter((name) => name !== '');

/** Breeds whose type anyone would agree on; the horses file may leave the type blank for these. */
const PLAIN_BREEDS: Readonly<Record<BreedType, readonly string[]>> = {
  draft: ['Clydesdale', 'Shire', 'Percheron', 'Ardennes', 'Suffolk Punch'],
  warmblood: ['Hanoverian', 'Dutch Warmblood', 'Trakehner', 'Oldenburg', 'Holsteiner'],
  light: ['Thoroughbred', 'Arab', 'Quarter Horse', 'Morgan', 'Standardbred'],
  pony: ['Shetland', 'Connemara', 'Exmoor', 'Dartmoor', 'New Forest'],
  donkey: ['Donkey'],
};
/** Breeds and crosses that do not tell it: the file states the type. */
const UNCLEAR_BREEDS: Readonly<Record<BreedType, readonly string[]>> = {
  draft: ['Shire x', 'heavy cob'],
  warmblood: ['Sports horse', 'ID x TB'],
  light: ['Arab x', 'riding horse, unknown'],
  pony: ['Welsh Cob', 'pony cross'],
  donkey: ['Donkey, rescue'],
};
const MASS_KG: Readonly<Record<BreedType, readonly [number, number]>> = {
  draft: [820, 70],
  warmblood: [590, 40],
  light: [480, 35],
  pony: [290, 60],
  donkey: [190, 25],
};

/** Horse number `index` (from 0) of the herd, at its yard. */
export function drawHorse(index: number, yard: Yard, draw: Draw, idDigits: number): Horse {
  const breedType = draw.weighted(yard.breeds);
  const unclear = draw.chance(0.25);
  const breed = draw.pick((unclear ? UNCLEAR_BREEDS : PLAIN_BREEDS)[breedType]);
  const stateType = draw.chance(0.5);
  const [mean, sd] = MASS_KG[breedType];
  const round = Math.floor(index / NAMES.length);
  const name = NAMES[(index * 37) % NAMES.length]!;
  const row: HorseRow = {
    horse_id: `H${String(index + 1).padStart(idDigits, '0')}`,
    horse_name: round === 0 ? name : `${name} ${round + 1}`,
    client_id: yard.clientId,
    breed,
    breed_type: unclear || stateType ? breedType : null,
    birth_year: draw.chance(0.06) ? null : 2003 + Math.floor(draw.between(0, 17)),
    sex: draw.weighted({ mare: 46, gelding: 46, stallion: 3, '': 5 }) || null,
    body_mass_kg: draw.chance(0.15) ? null : Math.round(Math.max(90, draw.normal(mean, sd)) / 5) * 5,
  };
  return { row, breedType, yard };
}
