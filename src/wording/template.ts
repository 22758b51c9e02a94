/** A fault in a text: a template that cannot be filled, a message without words, or a number that a text needs and does not get. Trying again cannot help. */
export class WordingError extends Error {
  readonly retry = false;
  constructor(
    readonly code: 'template-placeholder-unknown' | 'template-braces' | 'number-missing' | 'message-unknown' | 'language-unknown',
    message: string,
  ) {
    super(message);
    this.name = 'WordingError';
  }
}

/**
 * The template with each `{placeholder}` replaced. Throws a WordingError for a placeholder that has no value, and for braces that
 * are no placeholder, so that no half-filled sentence reaches a member.
 */
export function fillTemplate(template: string, values: Readonly<Record<string, string>>): string {
  const filled = template.replace(/\{([A-Za-z][A-Za-z0-9]*)\}/g, (_, name: string) => {
    const value = Object.hasOwn(values, name) ? values[name] : undefined;
    if (value === undefined) {
      throw new WordingError(
        'template-placeholder-unknown',
        `{${name}} is no placeholder here; known: ${Object.keys(values).join(', ') || 'none'}`,
      );
    }
    return value;
  });
  if (/[{}]/.test(template.replace(/\{[A-Za-z][A-Za-z0-9]*\}/g, ''))) {
    throw new WordingError('template-braces', `a brace stands alone in: ${template}`);
  }
  return filled;
}

/** The numbers and ids of one finding, read by name; a name that is not there throws a WordingError. */
export interface Said {
  /** A number in the unit of its name. */
  num(name: string): number;
  /** An id, such as a part or a moment. */
  id(name: string): string;
}

/** Reader of a finding's numbers. */
export function saidOf(numbers: Readonly<Record<string, number | string>>): Said {
  return {
    num(name) {
      const value = numbers[name];
      if (typeof value !== 'number' || !Number.isFinite(value))
        throw new WordingError('number-missing', `number ${name} is missing`);
      return value;
    },
    id(name) {
      const value = numbers[name];
      if (typeof value !== 'string') throw new WordingError('number-missing', `id ${name} is missing`);
      return value;
    },
  };
}
