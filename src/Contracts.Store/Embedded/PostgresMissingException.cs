namespace Contracts.Store.Embedded;

/// <summary>No usable PostgreSQL was found on this machine; the message says what to install.</summary>
public sealed class PostgresMissingException(string message) : Exception(message);
