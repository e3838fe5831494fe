namespace Contracts.Store;

/// <summary>
/// The machinery failed, or must not be used as it stands. Never a rule's refusal. After a failed write the outcome
/// may be unknown: send the same commands with the same keys again, and each still happens once.
/// </summary>
public sealed class StoreException : Exception
{
    public StoreException(string message, Exception? inner = null)
        : base(message, inner)
    {
    }
}
