using System.Collections.Immutable;
using Contracts.Agreements;
using NodaTime;

namespace Contracts.History;

/// <summary>
/// What is known of one contract: the state that every command is decided on. Nothing else is kept;
/// every figure is folded from it (<see cref="AccountFold"/>). Immutable.
/// </summary>
public sealed class ContractHistory
{
    private ContractHistory(string contract, ImmutableArray<Recorded> entries, ImmutableArray<Recorded> facts)
    {
        Contract = contract;
        Entries = entries;
        Facts = facts;
    }

    public string Contract { get; }

    /// <summary>Every event in the order of recording, notes included.</summary>
    public ImmutableArray<Recorded> Entries { get; }

    /// <summary>The events that move figures, by day and, within a day, in the order of recording.</summary>
    public ImmutableArray<Recorded> Facts { get; }

    public bool IsSigned => !Facts.IsEmpty;

    /// <summary>The signing; only a signed contract has one.</summary>
    public ContractEvent.Signed Signing =>
        Facts is [{ Event: ContractEvent.Signed signed }, ..]
            ? signed
            : throw new ImpossibleHistoryException(Contract, "does not begin with a signing");

    public static ContractHistory Unsigned(string contract) => new(contract, [], []);

    /// <summary>The history of a whole stream, given in the order of recording.</summary>
    public static ContractHistory Of(string contract, IReadOnlyCollection<Recorded> stream)
    {
        ImmutableArray<Recorded> entries = [.. stream];
        if (IsAlreadyInOrder(entries)) { return new ContractHistory(contract, entries, entries); }
        var facts = new List<Recorded>(stream.Count);
        foreach (var entry in stream)
        {
            if (entry.Event.IsNote) { continue; }
            var place = facts.Count;
            while (place > 0 && facts[place - 1].Event.On > entry.Event.On) { place--; }
            facts.Insert(place, entry);
        }

        return new ContractHistory(contract, entries, [.. facts]);
    }

    /// <summary>A life without notes in which nothing was recorded out of its day's turn: facts and entries are one.</summary>
    private static bool IsAlreadyInOrder(ImmutableArray<Recorded> entries)
    {
        for (var index = 0; index < entries.Length; index++)
        {
            if (entries[index].Event.IsNote) { return false; }
            if (index > 0 && entries[index].Event.On < entries[index - 1].Event.On) { return false; }
        }

        return true;
    }

    /// <summary>This history and one more event, the last recorded so far.</summary>
    public ContractHistory Evolve(Recorded entry)
    {
        if (!Entries.IsEmpty && Entries[^1].Sequence >= entry.Sequence)
        {
            throw new ImpossibleHistoryException(Contract, $"has event {entry.Sequence} after {Entries[^1].Sequence}");
        }

        if (entry.Event.IsNote) { return new ContractHistory(Contract, Entries.Add(entry), Facts); }
        var place = Facts.Length;
        while (place > 0 && Facts[place - 1].Event.On > entry.Event.On) { place--; }
        return new ContractHistory(Contract, Entries.Add(entry), Facts.Insert(place, entry));
    }

    /// <summary>The history through an event of the store's order of recording, that event included.</summary>
    public ContractHistory Through(long sequence) =>
        Entries.IsEmpty || Entries[^1].Sequence <= sequence
            ? this
            : Of(Contract, Entries.TakeWhile(entry => entry.Sequence <= sequence).ToList());

    /// <summary>What was known of the contract at a moment, that moment included.</summary>
    public ContractHistory AsKnownAt(Instant known) =>
        Entries.IsEmpty || Entries[^1].At <= known
            ? this
            : Of(Contract, Entries.TakeWhile(entry => entry.At <= known).ToList());
}

/// <summary>Stored history that no accepted commands could have made: damage or a bug, never a customer's doing.</summary>
public sealed class ImpossibleHistoryException(string contract, string what) : Exception($"Contract {contract} {what}.");
