import { languageOf } from '../../../wording/index.ts';
import { privately, type UseCase } from '../use-case.ts';
import { statureCmOf } from './stature.ts';

const id = 'my-height';
const { member } = languageOf('en');

/** The member sets how tall they are, by which bar speeds are scaled, or looks at it, or takes it back. */
export const myHeight: UseCase = {
  id,
  who: 'anyone',
  command: {
    name: id,
    description: member.height.description,
    fields: [{ id: 'height', label: member.height.field, required: false, options: null }],
  },
  async run({ deps, action, person }) {
    const { height } = languageOf(deps.language).member;
    const { members } = deps.ledger;
    const typed = (action.values.height ?? '').trim();
    if (typed === '') {
      const { statureCm } = await members.get(person.platform, person.id);
      return privately(statureCm === null ? height.notSet : height.isSet(statureCm));
    }
    const isOff = height.off.includes(typed.toLowerCase());
    const statureCm = isOff ? null : statureCmOf(typed);
    if (statureCm === null && !isOff) return privately(height.notUnderstood);
    await members.set(person.platform, person.id, { statureCm });
    return privately(statureCm === null ? height.cleared : height.saved(statureCm));
  },
};
