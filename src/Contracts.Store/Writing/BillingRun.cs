using Contracts.Agreements;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Writing;

/// <summary>A billing run, a thousand contracts and one transaction at a time, in the order of their ids.</summary>
internal sealed class BillingRun(Writer writer, Command.Bill bill, Instant? at)
{
    private const int Step = 1000;

    private string after = "";
    private int events;

    /// <summary>How many contracts have been looked at.</summary>
    public long LookedAt { get; private set; }

    /// <summary>Bills the next contracts; answers when the run is done, was done before, or is refused.</summary>
    public async Task<CommandResult?> StepAsync(CancellationToken stop)
    {
        var ids = await NextAsync(stop).ConfigureAwait(false);
        var mode = writer.Settings.SimulatedClock ? ClockMode.Simulated : ClockMode.StoresOwn;
        var (result, added) = await writer.RunAsync(
            mode, new Needs([bill.Origin.Key], ids, []), (scope, desk) => BillAsync(scope, desk, ids, stop), stop).ConfigureAwait(false);
        events += added;
        LookedAt += ids.Length;
        if (ids.Length > 0) { after = ids[^1]; }
        return result;
    }

    private async Task<(CommandResult? Result, int Added)> BillAsync(
        WriteScope scope, BatchDecider desk, string[] ids, CancellationToken stop)
    {
        if (scope.Applied.TryGetValue(bill.Origin.Key, out var already)) { return (already, 0); }

        // Once the run has begun, another writer may move the clock past its moment; the rest is recorded then.
        var wanted = LookedAt > 0 && at is { } moment && moment < scope.Clock.Last ? scope.Clock.Last : at;
        if (desk.Moment(wanted, out var recordedAt) is { } refusal) { return (new CommandResult.Refused(refusal), 0); }
        var context = desk.ContextAt(recordedAt);
        var due = new IReadOnlyList<Outcome>[ids.Length];
        await Parallel.ForAsync(0, ids.Length, stop, (index, _) =>
        {
            due[index] = Quiet.Bill(scope.Contract(ids[index]), writer.Decider, context, bill.Through);
            return ValueTask.CompletedTask;
        }).ConfigureAwait(false);
        var added = 0;
        for (var index = 0; index < ids.Length; index++)
        {
            added += await desk.BillAsync(ids[index], bill, recordedAt, due[index], stop).ConfigureAwait(false);
        }

        if (ids.Length == Step) { return (null, added); }
        desk.Stamp(new NewKey(bill.Origin.Key, null, recordedAt, events + added));
        return (new CommandResult.Applied(recordedAt, events + added), added);
    }

    private async Task<string[]> NextAsync(CancellationToken stop)
    {
        await using var command = writer.Source.CreateCommand(
            "select id from contracts.mt_streams where id > $1 and id !~ '[:_]' order by id limit $2");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = after });
        command.Parameters.Add(new NpgsqlParameter<int> { TypedValue = Step });
        var ids = new List<string>(Step);
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { ids.Add(reader.GetString(0)); }
        return [.. ids];
    }
}
