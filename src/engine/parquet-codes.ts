import {
  type DataType,
  dictionary,
  type Field,
  int32,
  type Schema,
  Table,
  Type,
  tableFromIPC,
  tableToIPC,
  utf8,
} from '@uwdata/flechette';
import { byDictionary, footerOf, withArrowSchema } from './parquet-footer.ts';

/**
 * A file whose texts are written by dictionaries, in parts that make one file again: of these columns its footer says
 * that they were dictionaries of Arrow when they were written, and so the codec hands them out as codes and dictionaries
 * rather than text by text. `schema` is the Arrow schema (IPC) that the codec sees now. Null where that would change nothing.
 */
export function withTextsByCode(file: Uint8Array, schema: Uint8Array): Uint8Array[] | null {
  const footer = footerOf(file);
  const isCoded = footer && byDictionary(footer);
  if (!footer || !isCoded?.includes(true)) return null;
  const seen = tableFromIPC(schema).schema;
  if (seen.fields.length !== isCoded.length) return null;
  const fields = seen.fields.map((field, k) =>
    isCoded[k] && field.type.typeId === Type.Utf8 ? { ...field, type: codes(k) } : field,
  );
  if (fields.every(({ type }, k) => type === seen.fields[k]?.type)) return null;
  return withArrowSchema(file, footer, inBase64({ ...seen, fields }));
}

/** Does the codec see the columns of a file as before, but for texts that are dictionaries now? Schemas as Arrow IPC. */
export function isSameButCoded(before: Uint8Array, after: Uint8Array): boolean {
  const [was, is] = [tableFromIPC(before).schema.fields, tableFromIPC(after).schema.fields];
  const told = ({ name, type, nullable }: Field): string => {
    const isText = type.typeId === Type.Dictionary && type.dictionary.typeId === Type.Utf8;
    return JSON.stringify([name, nullable, isText ? utf8() : type]);
  };
  return was.length === is.length && was.every((field, k) => told(field) === told(is[k] as Field));
}

const codes = (id: number): DataType => dictionary(utf8(), int32(), false, id);

/** As a footer has it: the message that an IPC stream begins with. */
function inBase64(schema: Schema): string {
  const stream = tableToIPC(new Table(schema, []), { format: 'stream' }) as Uint8Array;
  const length = new DataView(stream.buffer, stream.byteOffset).getUint32(4, true);
  let text = '';
  for (const byte of stream.subarray(0, 8 + length)) text += String.fromCharCode(byte);
  return btoa(text);
}
