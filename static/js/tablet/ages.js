// How long ago something was, in words.
export function howOld(moment) {
  const minutes = Math.max(0, Math.floor((Date.now() - moment) / 60_000));
  if (minutes < 2) return "just now";
  if (minutes < 120) return `${minutes} minutes ago`;
  return minutes < 2880 ? `${Math.floor(minutes / 60)} hours ago` : `${Math.floor(minutes / 1440)} days ago`;
}
