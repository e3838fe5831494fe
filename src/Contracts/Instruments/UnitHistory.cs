using System.Collections.Immutable;
using NodaTime;

namespace Contracts.Instruments;

/// <summary>A fact about a unit as the store keeps it: with its place, the moment it was learned, and who brought it and why.</summary>
/// <param name="Event">What happened.</param>
/// <param name="Sequence">The place in the store's one order of recording, in which contracts' events have theirs too.</param>
/// <param name="At">When the engine learned it.</param>
/// <param name="Key">The idempotency key of the command that brought it.</param>
/// <param name="Actor">Who gave the command.</param>
/// <param name="Reason">Why, where somebody said so.</param>
public sealed record UnitRecorded(UnitEvent Event, long Sequence, Instant At, string Key, string? Actor, string? Reason);

/// <summary>What is known of one unit from its own stream; empty for a unit that was never acquired as one. Immutable.</summary>
public sealed class UnitHistory
{
    private UnitHistory(string serial, ImmutableArray<UnitRecorded> entries, ImmutableArray<UnitRecorded> facts) => (Serial, Entries, Facts) = (serial, entries, facts);

    /// <summary>The serial number.</summary>
    public string Serial { get; }

    /// <summary>Every event in the order of recording.</summary>
    public ImmutableArray<UnitRecorded> Entries { get; }

    /// <summary>The same by day and, within a day, in the order of recording.</summary>
    public ImmutableArray<UnitRecorded> Facts { get; }

    /// <summary>How it came into the fleet, or null for a unit the shop does not keep as one.</summary>
    public UnitEvent.Acquired? Acquisition => Entries is [{ Event: UnitEvent.Acquired first }, ..] ? first : null;

    /// <summary>The contracts that took it while it was kept, each once, in the order of taking.</summary>
    public IReadOnlyList<string> Contracts => [.. Entries.Select(entry => (entry.Event as UnitEvent.Placed)?.Contract).OfType<string>().Distinct(StringComparer.Ordinal)];

    /// <summary>A unit of which nothing is known.</summary>
    public static UnitHistory Unknown(string serial) => new(serial, [], []);

    /// <summary>The history of a whole stream, given in the order of recording.</summary>
    public static UnitHistory Of(string serial, IEnumerable<UnitRecorded> stream) => stream.Aggregate(Unknown(serial), (so, entry) => so.Evolve(entry));

    /// <summary>This history and one more event, the last recorded so far.</summary>
    public UnitHistory Evolve(UnitRecorded entry)
    {
        var place = Facts.Length;
        while (place > 0 && Facts[place - 1].Event.On > entry.Event.On) { place--; }
        return new UnitHistory(Serial, Entries.Add(entry), Facts.Insert(place, entry));
    }

    /// <summary>What was known of the unit at a moment, that moment included.</summary>
    public UnitHistory AsKnownAt(Instant known) =>
        Entries.IsEmpty || Entries[^1].At <= known ? this : Of(Serial, Entries.TakeWhile(entry => entry.At <= known));
}
