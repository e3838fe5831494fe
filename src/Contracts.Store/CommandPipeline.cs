using System.Collections.Concurrent;
using Contracts.Agreements;
using Contracts.Store.Vault;
using Contracts.Store.Writing;
using Marten;
using NodaTime;
using Npgsql;

namespace Contracts.Store;

/// <summary>
/// The one way into the store. Callers that arrive while a transaction is under way share the next one, so many
/// writers cost few commits; each still gets its own answer, and each command is decided on all that came before it.
/// </summary>
public sealed class CommandPipeline : IDisposable
{
    /// <summary>Waiting callers share a transaction up to about this many commands.</summary>
    private const int LargestShared = 2000;

    private readonly ConcurrentQueue<WaitingBatch> waiting = new();
    private readonly SemaphoreSlim turn = new(1, 1);
    private readonly Writer writer;
    private readonly HouseholdVault vault;

    internal Writer Writer => writer;

    /// <summary>How many events this process has written: what it has to see sealed.</summary>
    public long Written => writer.Written;

    /// <summary>Calls back with that number after each commit, beside whoever else is called; it must not wait.</summary>
    public void OnWritten(Action<long> told) => writer.Wrote += told;

    internal CommandPipeline(NpgsqlDataSource source, Lazy<DocumentStore> marten, StoreSettings settings, Decider? decider, HouseholdVault vault)
    {
        writer = new Writer(source, marten, settings, decider ?? Decider.Rules);
        this.vault = vault;
    }

    /// <summary>
    /// Applies commands in their order in one transaction. A refused one changes nothing and the others go on.
    /// When this throws, the outcome may be unknown: apply the same again, the keys make it happen once.
    /// </summary>
    public async Task<IReadOnlyList<CommandResult>> ApplyAsync(
        IReadOnlyList<CommandRequest> batch, CancellationToken stop = default)
    {
        if (batch.Count == 0) { return []; }
        var kept = await vault.KeepAsync(batch, stop).ConfigureAwait(false);
        var results = await ApplyKeptAsync(kept, stop).ConfigureAwait(false);
        await vault.SettleAsync(kept, results, CancellationToken.None).ConfigureAwait(false);
        return results;
    }

    private async Task<IReadOnlyList<CommandResult>> ApplyKeptAsync(IReadOnlyList<CommandRequest> batch, CancellationToken stop)
    {
        var mine = new WaitingBatch(batch);
        waiting.Enqueue(mine);
        try
        {
            await turn.WaitAsync(stop).ConfigureAwait(false);
        }
        catch (OperationCanceledException) when (!mine.TryWithdraw())
        {
            // A leader has already taken it: it happens, and its outcome is the answer.
            return await mine.Answer.ConfigureAwait(false);
        }

        try
        {
            while (!mine.IsTaken) { await LeadAsync().ConfigureAwait(false); }
        }
        finally
        {
            turn.Release();
        }

        return await mine.Answer.ConfigureAwait(false);
    }

    /// <summary>Applies one command.</summary>
    public async Task<CommandResult> ApplyAsync(CommandRequest request, CancellationToken stop = default) =>
        (await ApplyAsync([request], stop).ConfigureAwait(false))[0];

    /// <summary>
    /// The billing run over the whole portfolio, in several transactions. It can be stopped and given again: only
    /// what is not noted yet is added, and the key counts as applied when all of it is done.
    /// </summary>
    public async Task<CommandResult> BillAsync(
        Command.Bill bill, Instant? at = null, IProgress<long>? progress = null, CancellationToken stop = default)
    {
        var run = new BillingRun(writer, bill, at);
        while (true)
        {
            await turn.WaitAsync(stop).ConfigureAwait(false);
            try
            {
                if (await run.StepAsync(stop).ConfigureAwait(false) is { } result) { return result; }
            }
            finally
            {
                turn.Release();
            }

            progress?.Report(run.LookedAt);
        }
    }

    /// <summary>Issues one paper; where the store's clock is simulated it stays where it is.</summary>
    public Task<CommandResult> IssueAsync(Command.OnContract issue, CancellationToken stop = default) =>
        InTurnAsync(
            () => writer.RunAsync(
                writer.Settings.SimulatedClock ? ClockMode.Simulated : ClockMode.StoresOwn,
                new Needs([issue.Origin.Key], [issue.Contract], []),
                (_, desk) => desk.DecideAsync(new CommandRequest(issue), stop), stop),
            stop);

    /// <summary>Other work that writes waits for its turn like a batch of commands.</summary>
    internal async Task<T> InTurnAsync<T>(Func<Task<T>> work, CancellationToken stop)
    {
        await turn.WaitAsync(stop).ConfigureAwait(false);
        try
        {
            return await work().ConfigureAwait(false);
        }
        finally
        {
            turn.Release();
        }
    }

    public void Dispose() => turn.Dispose();

    private async Task LeadAsync()
    {
        var taken = new List<WaitingBatch>();
        var count = 0;
        while (waiting.TryPeek(out var next) && (taken.Count == 0 || count + next.Requests.Count <= LargestShared))
        {
            waiting.TryDequeue(out _);
            if (!next.TryTake()) { continue; }
            taken.Add(next);
            count += next.Requests.Count;
        }

        if (taken.Count == 0) { return; }
        try
        {
            Deal(taken, await writer.ApplyAsync([.. taken.SelectMany(one => one.Requests)]).ConfigureAwait(false));
        }
        catch (Exception fault) when (taken.Count > 1 && fault is not StoreException { InnerException: NpgsqlException })
        {
            // One caller's fault must not become the others': each gets a transaction of its own.
            foreach (var one in taken) { await AloneAsync(one).ConfigureAwait(false); }
        }
        catch (Exception fault)
        {
            foreach (var one in taken) { one.Fail(fault); }
        }
    }

    private async Task AloneAsync(WaitingBatch one)
    {
        try
        {
            one.Succeed(await writer.ApplyAsync(one.Requests).ConfigureAwait(false));
        }
        catch (Exception fault)
        {
            one.Fail(fault);
        }
    }

    private static void Deal(List<WaitingBatch> taken, IReadOnlyList<CommandResult> results)
    {
        var at = 0;
        foreach (var one in taken)
        {
            one.Succeed([.. results.Skip(at).Take(one.Requests.Count)]);
            at += one.Requests.Count;
        }
    }
}
