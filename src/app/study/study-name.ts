export const isStudyFile = (name: string): boolean => /\.growout$/i.test(name);
