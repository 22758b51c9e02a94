import type { webApi } from '@slack/bolt';

/**
 * Arguments of the Web API methods that the adapter calls, from the types of Slack's own library, in groups since types of the same
 * name cannot stand in one schema. The JSON Schemas in fixtures/ are made from them (some 10 s each, so kept) by
 * `npx ts-json-schema-generator --path tests/platforms/slack/requests.ts --type <Name> --no-type-check --no-ref-encode`.
 */
export interface MessageRequests {
  'chat.postMessage': webApi.ChatPostMessageArguments;
  'chat.postEphemeral': webApi.ChatPostEphemeralArguments;
  'chat.update': webApi.ChatUpdateArguments;
  'chat.delete': webApi.ChatDeleteArguments;
}

export interface ViewRequests {
  'views.open': webApi.ViewsOpenArguments;
}

export interface FileRequests {
  'files.completeUploadExternal': webApi.FilesCompleteUploadExternalArguments;
  'files.getUploadURLExternal': webApi.FilesGetUploadURLExternalArguments;
  'files.info': webApi.FilesInfoArguments;
  'files.delete': webApi.FilesDeleteArguments;
}

export interface ReactionRequests {
  'reactions.add': webApi.ReactionsAddArguments;
  'reactions.remove': webApi.ReactionsRemoveArguments;
  'reactions.get': webApi.ReactionsGetArguments;
}

export interface ReadRequests {
  'conversations.history': webApi.ConversationsHistoryArguments;
  'conversations.replies': webApi.ConversationsRepliesArguments;
  'conversations.info': webApi.ConversationsInfoArguments;
  'conversations.open': webApi.ConversationsOpenArguments;
  'users.info': webApi.UsersInfoArguments;
  'usergroups.list': webApi.UsergroupsListArguments;
}
