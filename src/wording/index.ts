import { en } from './en.ts';
import type { Language } from './language.ts';
import { WordingError } from './template.ts';

/** Languages by code; another language is one file and one line here. */
export const languages: Readonly<Record<string, Language>> = { en };

/** Words of a language code; throws a WordingError when there are none. */
export function languageOf(code: string): Language {
  const language = Object.hasOwn(languages, code) ? languages[code] : undefined;
  if (!language)
    throw new WordingError('language-unknown', `no words in ${code}; there are: ${Object.keys(languages).join(', ')}`);
  return language;
}
