using NodaTime;

namespace Contracts.Store;

/// <summary>
/// A state of knowledge: what was recorded up to a moment, or the events among the first leaves of the log. The second is
/// a set that can be proved; a late event may have a later leaf than its number says, and is then not in it.
/// </summary>
/// <param name="At">The moment; of a size the last recorded moment in it, which views state.</param>
/// <param name="Size">How many leaves count, or null where the moment decides.</param>
public readonly record struct KnownAt(Instant At, long? Size = null)
{
    public static implicit operator KnownAt(Instant at) => new(at);

    /// <summary>The same as a conversion.</summary>
    public static KnownAt FromInstant(Instant at) => new(at);
}
