using System.Buffers;
using System.Collections.Immutable;
using System.Text;
using System.Text.Json;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Replays;
using Contracts.Seals;
using Contracts.Store.Json;
using Contracts.Store.Proposals;
using Contracts.Store.Reading;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Store.Dossiers;

/// <summary>The account lived again from nothing but the events of a dossier, by this program's rules.</summary>
/// <param name="History">The contract's history through the moment asked for.</param>
/// <param name="All">The same with everything the dossier holds.</param>
/// <param name="State">The account as of the day, as known then.</param>
/// <param name="Best">The same as best known.</param>
internal sealed record DossierReplay(ContractHistory History, ContractHistory All, AccountState State, AccountState Best)
{
    /// <summary>Lives the account; throws where the events cannot have come from accepted commands.</summary>
    public static DossierReplay Of(DossierParts parts)
    {
        var entries = parts.Streams[0].Events.Select(one => (Entry: Entry(one), one)).ToList();
        var all = ContractHistory.Of(parts.Request.Contract, [.. entries.Select(pair => Recorded(pair.Entry, pair.one))]);
        var known = all.AsKnownAt(parts.Request.Known);
        return new DossierReplay(
            known, all,
            At(known, Rates(parts, parts.Request.Known), parts.Request.On), At(all, Rates(parts, Instant.MaxValue), parts.Request.On));
    }

    /// <summary>The account as canonical JSON: the text of `contracts account`, its members in the order of their names.</summary>
    public static byte[] Json(AccountState state, Instant known)
    {
        var buffer = new ArrayBufferWriter<byte>(2048);
        using (var json = new Utf8JsonWriter(buffer)) { AccountJson.Write(json, Account.Of(state, known)); }
        return CanonicalJson.Restricted(buffer.WrittenSpan).Value;
    }

    private static AccountState At(ContractHistory history, ReferenceData rates, LocalDate on) => AccountFold.At(history, rates, on)
        ?? throw new StoreException("No contract was signed by that day, as known at that moment.");

    private static ReferenceData Rates(DossierParts parts, Instant known) => Reference(parts, known).Last;

    /// <summary>Rates and law packs of a dossier as they became known until a moment.</summary>
    internal static KnownReference Reference(DossierParts parts, Instant until)
    {
        var known = KnownReference.None;
        var events = parts.Streams.Skip(1).SelectMany(stream => stream.Events).Select(one => (Entry: Entry(one), One: one))
            .Where(pair => pair.Entry.RecordedAt <= until).OrderBy(pair => pair.Entry.Sequence);
        foreach (var (entry, one) in events)
        {
            known = EventJson.Read(Encoding.UTF8.GetBytes(entry.Type), one.Payload) switch
            {
                TaxRateSet tax => known.Then(tax.Fact(entry.Sequence, entry.RecordedAt)),
                LawPackAdopted law => known.Then(law.Fact(entry.Sequence, entry.RecordedAt, entry.Actor ?? "")),
                Vault.HouseholdDescribed or Vault.HouseholdErased or Vault.HouseholdPaid => known,
                ChangeProposed or ChangeApproved or ChangeDeclined => known,
                var other => throw new StoreException($"A stream of reference data holds {other.GetType().Name}."),
            };
        }

        return known;
    }

    /// <summary>The key of the command that recorded the event.</summary>
    public static string KeyOf(DossierEvent one) => Recorded(Entry(one), one).Key;

    private static EventEntry Entry(DossierEvent one) => LogEntry.Parse<EventEntry>(one.Entry).Value;

    private static Recorded Recorded(EventEntry entry, DossierEvent one) =>
        StoredEvent.Read(entry.Sequence, entry.RecordedAt, Encoding.UTF8.GetBytes(entry.Type), one.Payload, one.Headers);
}
