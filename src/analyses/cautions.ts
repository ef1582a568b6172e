/** Sentences that stand with the answers they belong to; a page names them by key. */
export const CAUTIONS = {
  record:
    'This is analysis of records, not diagnosis. What goes together in visit records need not be cause and effect.',
  foot_first:
    'No figure here overrides the foot in front of you, local rules or licensed practice; a suggested interval is a starting point for judgement.',
  call_vet:
    'Lameness, a bounding digital pulse, heat, a draining tract, a sole that gives under the thumb, exposed or bleeding tissue, or a crack that bleeds or moves: stop and call a veterinarian.',
  between_visits:
    'Problems begin and clear between visits, so their dates are known only to lie between two visits; a foot seen less often is also found out later.',
  intervals_not_by_lot:
    'Trim intervals are not handed out by lot: yards that book late may differ in ground, wet and care. Read the adjusted and within-horse figures beside the crude one.',
  small_numbers:
    'Figures from few horses are drawn towards the herd’s average and carry wide intervals; do not rank by them.',
  own_scale:
    'Grades are this notebook’s own 0–3 scale, present from grade 1 on; shares are not comparable with work that counts otherwise.',
  demo: 'The demo herd is invented: horses, yards and figures. Nothing in it is evidence about real feet.',
} as const;

export type CautionKey = keyof typeof CAUTIONS;
