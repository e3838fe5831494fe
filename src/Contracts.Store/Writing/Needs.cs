using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>What a batch must see before it can be decided.</summary>
internal sealed record Needs(string[] Keys, string[] Contracts, string[] Serials, string[]? Quotes = null, string[]? Proposals = null);

/// <summary>Where a transaction's recording moment comes from.</summary>
internal enum ClockMode
{
    /// <summary>The database's clock.</summary>
    Real,

    /// <summary>The commands.</summary>
    Simulated,

    /// <summary>The database's clock, or where a simulated clock was left: for a billing run that names no moment.</summary>
    StoresOwn,
}

/// <summary>The store's clock as the transaction found it.</summary>
/// <param name="Last">The recording moment of a real clock, or the last one of a simulated clock.</param>
/// <param name="Now">The database's own time, to tell a clock that ran ahead.</param>
/// <param name="Revision">How many writing transactions there were, this one included.</param>
/// <param name="Simulated">Whether recording moments of this store were ever given from outside.</param>
/// <param name="NextSequence">The sequence number of the next event; the writer lock keeps it ours.</param>
/// <param name="OpenFrom">The first day of the books that is open, or null while no month has been closed.</param>
internal sealed record ClockReading(Instant Last, Instant Now, long Revision, bool Simulated, long NextSequence, LocalDate? OpenFrom);
