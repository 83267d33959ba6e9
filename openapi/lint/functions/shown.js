/** Whether an operation shows a reply, and a request if it takes one. */
const examplesOf = (body) => Object.values(body?.content ?? {}).flatMap((media) => Object.keys(media.examples ?? {}));

export default (operation, _options, context) => {
  const missing = [];
  if (operation.requestBody && !examplesOf(operation.requestBody).length) missing.push("request");
  if (!Object.values(operation.responses ?? {}).flatMap(examplesOf).length) missing.push("reply");
  return missing.map((side) => ({ message: `The operation shows no ${side}.`, path: context.path }));
};
