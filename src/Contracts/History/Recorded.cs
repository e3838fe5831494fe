using Contracts.Agreements;
using NodaTime;

namespace Contracts.History;

/// <summary>A fact as the store keeps it: with its place, the moment it was learned, and who brought it and why.</summary>
/// <param name="Event">What happened.</param>
/// <param name="Sequence">The place in the store's one order of recording; greater is later.</param>
/// <param name="At">When the engine learned it; never decreases with the sequence.</param>
/// <param name="Key">The idempotency key of the command that brought it.</param>
/// <param name="Actor">Who gave the command.</param>
/// <param name="Reason">Why, where the command must say so.</param>
/// <param name="Cause">The key of the fact that made a noted event appear, when it is not the billing run.</param>
/// <param name="Approved">The second person, where one person proposed it and another approved it.</param>
/// <param name="Trace">The W3C trace id of the request that wrote it, where it came over HTTP.</param>
public sealed record Recorded(
    ContractEvent Event, long Sequence, Instant At, string Key, string? Actor, string? Reason, string? Cause, string? Approved = null, string? Trace = null);
