using System.Collections.Concurrent;
using Contracts.Store;
using Contracts.Store.Webhooks;
using NodaTime;

namespace Contracts.Host.Serving.Webhooks;

/// <summary>
/// Tells webhooks what was recorded: each one in the store's order, one event at a time, at least once. An event that is not taken holds up the
/// events behind it, for that webhook and no other.
/// </summary>
/// <param name="store">Whose events.</param>
/// <param name="clock">What waits go by.</param>
/// <param name="log">Where failures are told, without secret and content.</param>
/// <param name="patience">How long an answer may take.</param>
public sealed partial class WebhookSender(ContractsStore store, TimeProvider clock, ILogger log, TimeSpan patience) : IDisposable
{
    /// <summary>How long an answer may take.</summary>
    public static readonly TimeSpan UsualPatience = TimeSpan.FromSeconds(10);

    private const int Batch = 100;
    private const int AtOnce = 4;

    private readonly WebhookPost post = new(patience);
    private string? source;

    /// <summary>One round over all webhooks that are due. A long line of events is told in several rounds, so that others get their turn.</summary>
    /// <returns>Whether more waits than this round took.</returns>
    public async Task<bool> RoundAsync(CancellationToken stop)
    {
        var due = await store.Outbox.DueAsync(Now(), stop).ConfigureAwait(false);
        if (due.Count == 0) { return false; }
        source ??= EventMessage.SourceOf(await store.Seals.OriginAsync(stop).ConfigureAwait(false));
        var more = new ConcurrentBag<bool>();
        await Parallel.ForEachAsync(
            due, new ParallelOptions { MaxDegreeOfParallelism = AtOnce, CancellationToken = stop },
            async (id, stopOne) => more.Add(await TellAsync(id, source, stopOne).ConfigureAwait(false))).ConfigureAwait(false);
        return more.Contains(true);
    }

    /// <summary>Closes its connections.</summary>
    public void Dispose() => post.Dispose();

    private async Task<bool> TellAsync(string id, string from, CancellationToken stop)
    {
        var turn = await store.Outbox.TakeAsync(id, Now(), stop).ConfigureAwait(false);
        if (turn is null) { return false; }
        await using (turn)
        {
            var (events, through) = await turn.NextAsync(Batch, stop).ConfigureAwait(false);
            foreach (var told in events)
            {
                var body = EventMessage.Of(from, told);
                var outcome = await post.SendAsync(
                    new Uri(turn.Url), turn.AllowPrivate, turn.Secret, EventMessage.IdOf(id, told), clock.GetUtcNow().ToUnixTimeSeconds(), body, stop).ConfigureAwait(false);
                if (!outcome.Taken)
                {
                    await FailedAsync(turn, told == events[0] ? turn.Attempts + 1 : 1, outcome, stop).ConfigureAwait(false);
                    return false;
                }

                // It was taken: that is noted even when the host is on its way out.
                if (!await turn.MovedAsync(told.Entry.Sequence, delivered: true, CancellationToken.None).ConfigureAwait(false)) { return true; }
            }

            if (events.Count == 0 || events[^1].Entry.Sequence < through) { await turn.MovedAsync(through, delivered: false, stop).ConfigureAwait(false); }
            return events.Count == Batch;
        }
    }

    private async Task FailedAsync(WebhookTurn turn, int failed, PostOutcome outcome, CancellationToken stop)
    {
        var paused = outcome.Gone ? outcome.Why : failed >= Retries.Most ? $"{failed} attempts in a row failed; the last: {outcome.Why}" : null;
        Instant? next = paused is null ? Now() + Duration.FromTimeSpan(Retries.After(failed, Random.Shared.NextDouble())) : null;
        await turn.FailedAsync(outcome.Why, next, paused, stop).ConfigureAwait(false);
        if (paused is not null) { LogPaused(log, turn.Id, paused); }
        else if (failed == 1) { LogFailed(log, turn.Id, outcome.Why); }
    }

    private Instant Now() => Instant.FromDateTimeOffset(clock.GetUtcNow());

    [LoggerMessage(Level = LogLevel.Warning, Message = "Webhook {Id} did not take an event, which is sent again: {Why}")]
    private static partial void LogFailed(ILogger log, string id, string why);

    [LoggerMessage(Level = LogLevel.Error, Message = "Webhook {Id} is paused until `contracts webhook send-again`: {Why}")]
    private static partial void LogPaused(ILogger log, string id, string why);
}
