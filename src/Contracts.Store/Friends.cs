using System.Runtime.CompilerServices;

// The tests log in as each role and spoil servers on purpose, for which there is no public way in.
[assembly: InternalsVisibleTo("Contracts.Host.Tests")]
