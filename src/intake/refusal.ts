/** Why a file as a whole cannot be read. */
export type RefusalReason =
  | 'empty'
  | 'no-rows'
  | 'same-name-columns'
  | 'too-many-columns'
  | 'truncated-parquet'
  | 'unreadable-parquet'
  | 'unreadable-column'
  | 'picture'
  | 'pdf'
  | 'workbook'
  | 'archive'
  | 'binary'
  | 'mapping';

/** A file that is not what it says. `sentence` is for people and names the file. */
export class IntakeRefusal extends Error {
  override readonly name = 'IntakeRefusal';
  readonly file: string;
  readonly reason: RefusalReason;
  readonly sentence: string;

  constructor(file: string, reason: RefusalReason, sentence: string) {
    super(sentence);
    this.file = file;
    this.reason = reason;
    this.sentence = sentence;
  }
}
