namespace Contracts.Host.Terminal;

/// <summary>The command line was right in form and wrong in what it says, such as a connection string that is none.</summary>
public sealed class UsageException(string message) : Exception(message);
