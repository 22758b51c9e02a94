import type { DeskWords } from './language.ts';

export const deskWords: DeskWords = {
  unknownAct: 'This button or command is from another version of me. Please use a newer message, or type the command again.',
  refused: (who) =>
    ({
      anyone: 'You cannot do that here.',
      coach: 'Only coaches can do that here. If you are one, ask whoever runs me to add you to the coaches in my settings.',
      moderator:
        'Only moderators can do that here. If you are one, ask whoever runs me to add you to the moderators in my settings.',
    })[who],
  wentWrong: 'Something went wrong on my side and was not done. Please try again in a minute.',
};
