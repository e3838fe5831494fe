using Contracts.Agreements;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Serving.Api;

/// <summary>The day asked about and what was known; the two dates that every read takes, read as the command line reads them.</summary>
internal readonly record struct Question(LocalDate On, KnownAt Known)
{
    /// <summary>Reads the two dates; exactly one of the answers is given.</summary>
    public static async Task<(Question Question, Refusal? Refusal)> ReadAsync(
        ContractsStore store, string? on, string? known, CancellationToken stop, string field = "on", string knownField = "known")
    {
        LocalDate? day = null;
        if (on is { Length: > 0 } && (day = CommonOptions.ParseDay(on)) is null)
        {
            return (default, new Refusal(RefusalCode.DateInvalid, $"'{field}' must be a day such as 2026-12-31.", field));
        }

        KnownMoment? moment = null;
        if (known is { Length: > 0 } && (moment = CommonOptions.ParseMomentOrCheckpoint(known)) is null)
        {
            return (default, new Refusal(
                RefusalCode.DateInvalid,
                $"'{knownField}' must be an instant such as 2026-12-31T12:00:00Z, a day such as 2026-12-31, or a checkpoint: size:N or root:HASH.", knownField));
        }

        var now = await store.Reader.NowAsync(stop);
        var on1 = day ?? now.InZone(Session.Zone).Date;
        if (moment?.Checkpoint is not { } checkpoint) { return (new Question(on1, moment?.In(Session.Zone) ?? now), null); }
        var (found, why) = await store.Seals.FindAsync(checkpoint, stop);
        return found is { } sealed1 ? (new Question(on1, sealed1), null) : (default, new Refusal(RefusalCode.CheckpointUnknown, why, knownField));
    }
}
