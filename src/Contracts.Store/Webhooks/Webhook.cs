using Contracts.History;
using NodaTime;

namespace Contracts.Store.Webhooks;

/// <summary>Somebody who is told each event over HTTP, as lists show it: without the secret.</summary>
/// <param name="Id">What it is called.</param>
/// <param name="Url">Where it is told.</param>
/// <param name="Events">The stored names of the events it is told; null for all of them.</param>
/// <param name="AllowPrivate">Whether the address may lie in a private network.</param>
/// <param name="MadeAt">When it was made, by the database's clock.</param>
/// <param name="MadeBy">Who made it.</param>
/// <param name="Position">Everything up to this number of the store's order was delivered or is not for it.</param>
/// <param name="Lag">How many recorded events wait for it.</param>
/// <param name="Attempts">How often in a row the next event could not be delivered.</param>
/// <param name="NextAt">When it is tried again, by the host's clock; null for at once.</param>
/// <param name="LastError">Why the last attempt that failed did.</param>
/// <param name="LastErrorAt">When that was.</param>
/// <param name="DeliveredAt">When something was delivered last.</param>
/// <param name="PausedBecause">Why nothing is sent any more until somebody says so, or null.</param>
/// <param name="RemovedAt">When it was ended, or null.</param>
public sealed record Webhook(
    string Id, string Url, IReadOnlyList<string>? Events, bool AllowPrivate, Instant MadeAt, string MadeBy, long Position, long Lag, int Attempts, Instant? NextAt,
    string? LastError, Instant? LastErrorAt, Instant? DeliveredAt, string? PausedBecause, Instant? RemovedAt);

/// <summary>An event of a contract that is to be told.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Version">The event's place in the contract's own order, from 1.</param>
/// <param name="Entry">The event.</param>
public sealed record Telling(string Contract, long Version, Recorded Entry);
