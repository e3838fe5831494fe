namespace Contracts.Store.Embedded;

/// <summary>The private PostgreSQL could not be started or stopped; the message carries the end of its log.</summary>
public sealed class EmbeddedServerException : Exception
{
    /// <summary>Says what failed.</summary>
    public EmbeddedServerException(string message)
        : base(message) { }

    /// <summary>Says what failed, and keeps the cause.</summary>
    public EmbeddedServerException(string message, Exception cause)
        : base(message, cause) { }
}
