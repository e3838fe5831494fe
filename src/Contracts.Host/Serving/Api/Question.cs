using Contracts.Agreements;
using Contracts.History;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Host.Serving.Api;

/// <summary>The day asked about and what was known; the two dates that every read takes, read as the command line reads them.</summary>
internal readonly record struct Question(LocalDate On, KnownAt Known)
{
    /// <summary>Reads the two dates; exactly one of the answers is given.</summary>
    public static async Task<(Question Question, Refusal? Refusal)> ReadAsync(
        ContractsStore store, string? on, string? known, CancellationToken stop, string field = "on", string knownField = "known")
    {
        var (day, moment, refusal) = Parse(on, known, field, knownField);
        if (refusal is not null) { return (default, refusal); }
        return await AskAsync(store, day, moment, await store.Reader.NowAsync(stop), knownField, stop);
    }

    /// <summary>The same with the contract as it was known then, and the rates; null histories are of contracts of which nothing was known.</summary>
    public static async Task<(Question Question, ContractHistory? History, ReferenceData Rates, Refusal? Refusal)> ReadOneAsync(
        ContractsStore store, string contract, string? on, string? known, CancellationToken stop, string field = "on")
    {
        var (day, moment, refusal) = Parse(on, known, field, "known");
        if (refusal is not null) { return (default, null, ReferenceData.None, refusal); }
        if (moment?.Checkpoint is null)
        {
            var one = await store.Reader.OneAsync(contract, moment?.In(Session.Zone), stop);
            return (new Question(day ?? one.Now.InZone(Session.Zone).Date, one.Known), one.History, one.Rates, null);
        }

        (var question, refusal) = await AskAsync(store, day, moment, await store.Reader.NowAsync(stop), "known", stop);
        if (refusal is not null) { return (default, null, ReferenceData.None, refusal); }
        return (question, await store.Reader.HistoryAsync(contract, question.Known, stop), await store.Reader.RatesAsync(question.Known, stop), null);
    }

    private static (LocalDate? Day, KnownMoment? Moment, Refusal? Refusal) Parse(string? on, string? known, string field, string knownField)
    {
        LocalDate? day = null;
        if (on is { Length: > 0 } && (day = CommonOptions.ParseDay(on)) is null)
        {
            return (null, null, new Refusal(RefusalCode.DateInvalid, $"'{field}' must be a day such as 2026-12-31.", field));
        }

        KnownMoment? moment = null;
        if (known is { Length: > 0 } && (moment = CommonOptions.ParseMomentOrCheckpoint(known)) is null)
        {
            return (null, null, new Refusal(
                RefusalCode.DateInvalid,
                $"'{knownField}' must be an instant such as 2026-12-31T12:00:00Z, a day such as 2026-12-31, or a checkpoint: size:N or root:HASH.", knownField));
        }

        return (day, moment, null);
    }

    private static async Task<(Question Question, Refusal? Refusal)> AskAsync(
        ContractsStore store, LocalDate? day, KnownMoment? moment, Instant now, string knownField, CancellationToken stop)
    {
        var on = day ?? now.InZone(Session.Zone).Date;
        if (moment?.Checkpoint is not { } checkpoint) { return (new Question(on, moment?.In(Session.Zone) ?? now), null); }
        var (found, why) = await store.Seals.FindAsync(checkpoint, stop);
        return found is { } sealed1 ? (new Question(on, sealed1), null) : (default, new Refusal(RefusalCode.CheckpointUnknown, why, knownField));
    }
}
