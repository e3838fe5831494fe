namespace Contracts.Kept;

/// <summary>A command for an executable that is kept.</summary>
/// <param name="Arguments">What stands behind the executable's name.</param>
/// <param name="Environment">What is added to its environment.</param>
/// <param name="Folder">Where the file <c>in</c> is, its standard input; <c>out</c> and <c>error</c> are made there.</param>
public sealed record KeptCommand(string[] Arguments, Dictionary<string, string> Environment, string Folder);
