// Files that the build takes in as text.
declare module '*.toml' {
  const text: string;
  export default text;
}
