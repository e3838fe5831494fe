using Contracts.Seals;

namespace Contracts.Store.Seals;

/// <summary>What a signer remembers: its key, and the last head of the log that it signed; size 0 where it has signed none.</summary>
public sealed record SignerState(NoteVerifier Key, long Size, Digest Root);

/// <summary>A head that is to be signed.</summary>
/// <param name="Origin">The log.</param>
/// <param name="Size">How many leaves it has now.</param>
/// <param name="Root">Their root.</param>
/// <param name="Proof">That the head signed last is its beginning; null where none was signed, or it is the same head.</param>
public sealed record SignRequest(string Origin, long Size, Digest Root, ConsistencyProof? Proof);

/// <summary>
/// Whoever keeps the log's private key. It stands apart from the database and believes it nothing: it signs only what it
/// can see to be a continuation of what it signed before.
/// </summary>
public interface ISigner
{
    /// <summary>What is remembered of a log. With <paramref name="mayBegin"/> a log that has never been signed gets its key.</summary>
    Task<SignerState> StateAsync(string origin, bool mayBegin, CancellationToken stop);

    /// <summary>The signed note over the head; throws <see cref="SignerException"/> where it will not be signed.</summary>
    Task<string> SignAsync(SignRequest request, CancellationToken stop);

    /// <summary>
    /// The signed note over a statement of the log's owner, such as that a dossier was made. A text that could be read as a head
    /// of a log is refused as a bug of the caller: heads are signed by <see cref="SignAsync"/> only, with their proof.
    /// </summary>
    Task<string> SignStatementAsync(string origin, string text, CancellationToken stop);
}

/// <summary>Why a signer did not sign.</summary>
public enum SignerRefusal
{
    /// <summary>There is no key for this log here, and its first key was made elsewhere.</summary>
    KeyMissing,

    /// <summary>The key is not written as a key is, or of another log.</summary>
    KeyMalformed,

    /// <summary>Others than the owner can read the key or its folder.</summary>
    KeyExposed,

    /// <summary>The key is printed in a standard or a test.</summary>
    KeyPublished,

    /// <summary>The key is there and what was signed with it is not remembered, or only in part.</summary>
    StateLost,

    /// <summary>Somebody else is signing at this moment.</summary>
    Busy,

    /// <summary>The log is smaller than what was signed: it was put back.</summary>
    LogPutBack,

    /// <summary>The log has another root than was signed, at the same size or in its beginning.</summary>
    LogForked,
}

/// <summary>A signer will not sign. The log goes on unsigned until a person has looked.</summary>
public sealed class SignerException(SignerRefusal refusal, string message) : Exception(message)
{
    public SignerRefusal Refusal { get; } = refusal;
}
