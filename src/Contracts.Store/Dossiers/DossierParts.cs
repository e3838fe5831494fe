using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Proposals;
using Contracts.Seals;
using Contracts.Store.Json;
using Contracts.Store.Proposals;
using Contracts.Store.Vault;
using NodaTime;

namespace Contracts.Store.Dossiers;

/// <summary>What a dossier was asked for. Nothing in it is believed: figures come from the events, and the moment is no later than the anchor.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="On">The day the figures are about.</param>
/// <param name="Known">Up to which recorded moment the events count.</param>
/// <param name="MadeAt">When the dossier was made; no figure depends on it.</param>
/// <param name="By">Who asked.</param>
/// <param name="Purpose">What for.</param>
public sealed record DossierRequest(string Contract, LocalDate On, Instant Known, Instant MadeAt, string By, string Purpose);

/// <summary>An event as a dossier carries it: three texts of canonical JSON.</summary>
public sealed record DossierEvent(byte[] Entry, byte[] Payload, byte[] Headers);

/// <summary>A whole stream, or that there is none: its events, and the proof of its head or of its absence.</summary>
public sealed record StreamPart(string Stream, ImmutableArray<DossierEvent> Events, byte[] HeadProof);

/// <summary>An earlier signed head of the log, and that the dossier's head continues it.</summary>
/// <param name="Note">The earlier head, as text.</param>
/// <param name="Proof">The proof of consistency, as <see cref="ConsistencyText"/> writes it.</param>
public sealed record EarlierHead(byte[] Note, byte[] Proof);

/// <summary>The anchor of the last closed month, and that it is in a log whose head is among the earlier ones or is the dossier's.</summary>
public sealed record MonthEndPart(byte[] Anchor, byte[] AnchorProof);

/// <summary>A time stamp (RFC 3161) over the note of a head in the dossier, by the size of the head and a number from 1.</summary>
public sealed record StampPart(long Size, int Number, byte[] Token);

/// <summary>The bytes of a paper that was given out, by the version of the event that says so.</summary>
public sealed record PaperPart(int Version, byte[] Bytes);

/// <summary>All that a dossier is made from; every other file in it follows from this.</summary>
/// <param name="Request">What was asked for.</param>
/// <param name="Streams">The contract first, then the household, taxes and laws that its events name, in the order of their names.</param>
/// <param name="Checkpoint">The signed head of the log, as text.</param>
/// <param name="Anchor">The anchor's entry.</param>
/// <param name="AnchorProof">That the anchor is in the log (C2SP tlog-proof).</param>
/// <param name="Policy">The log's public key as a policy file (C2SP tlog-policy).</param>
public sealed record DossierParts(
    DossierRequest Request, ImmutableArray<StreamPart> Streams, byte[] Checkpoint, byte[] Anchor, byte[] AnchorProof, byte[] Policy)
{
    /// <summary>Earlier heads of the log, the smallest first.</summary>
    public ImmutableArray<EarlierHead> Earlier { get; init; } = [];

    /// <summary>The last closed month, or null where none is closed.</summary>
    public MonthEndPart? MonthEnd { get; init; }

    /// <summary>Time stamps by others over the heads.</summary>
    public ImmutableArray<StampPart> Stamps { get; init; } = [];

    /// <summary>The papers that could be made again, in the order of issue.</summary>
    public ImmutableArray<PaperPart> Papers { get; init; } = [];

    /// <summary>What this reader is told of the family, as salted disclosures (RFC 9901, 4.2); every proof holds with and without them.</summary>
    public ImmutableArray<string> Disclosures { get; init; } = [];

    /// <summary>The tenant of every stream: a store has one.</summary>
    public const string Tenant = "*DEFAULT*";

    /// <summary>The policy that believes these keys of a log and asks for no witness.</summary>
    public static byte[] PolicyOf(IEnumerable<NoteVerifier> keys) =>
        System.Text.Encoding.UTF8.GetBytes(string.Concat(keys.Select(key => $"log {key.VKey}\n")) + "quorum none\n");

    /// <summary>The streams that a contract names beside its own: its household, the taxes of its places and the law packs of its states.</summary>
    public static ImmutableArray<string> ReferenceStreams(IEnumerable<DossierEvent> events)
    {
        var names = new SortedSet<string>(StringComparer.Ordinal);
        foreach (var one in events)
        {
            if (!LogEntry.Parse<EventEntry>(one.Entry).TryGet(out var entry, out _)) { continue; }
            // A change that two persons made carries the proposal's name in its key.
            if (entry.Command is { } key && Proposal.OfKey(key) is { } proposal) { names.Add(ProposalStreams.Of(proposal)); }
            switch (EventJson.Read(System.Text.Encoding.UTF8.GetBytes(entry.Type), one.Payload))
            {
                case ContractEvent.Signed e: names.UnionWith([HouseholdStreams.Of(e.Household), TaxRateSet.StreamOf(e.Jurisdiction), LawPackAdopted.StreamOf(e.State)]); break;
                case ContractEvent.Moved e: names.UnionWith([TaxRateSet.StreamOf(e.Jurisdiction), LawPackAdopted.StreamOf(e.State)]); break;
                default: break;
            }
        }

        return [.. names];
    }
}
