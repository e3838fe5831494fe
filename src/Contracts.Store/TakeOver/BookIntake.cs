using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Store.Writing;
using Contracts.TakeOver;
using NodaTime;
using Npgsql;

namespace Contracts.Store.TakeOver;

/// <summary>What became of a book.</summary>
/// <param name="Recorded">When it was recorded; null where it was not, or only tried.</param>
/// <param name="Already">Whether it had been taken over before, so that nothing was changed.</param>
/// <param name="Events">How many events it made, or would make.</param>
/// <param name="Deemed">How many of its payments are only deemed made.</param>
/// <param name="Reconciliation">How it compares with the control totals; null where it did not come to that.</param>
/// <param name="Faults">Lines that the rules refuse.</param>
/// <param name="Refusal">Why it was not taken over, or null.</param>
public sealed record TakeOverOutcome(
    Instant? Recorded, bool Already, int Events, int Deemed, Reconciliation? Reconciliation, IReadOnlyList<BookFault> Faults, Refusal? Refusal);

/// <summary>
/// Takes a book over in one transaction: its contracts and payments are decided by the rules one after another, the accounts they make are held against the
/// control totals, and only then anything is written. What is refused, and what a crash breaks off, leaves no trace.
/// </summary>
public sealed class BookIntake
{
    /// <summary>A book with more lines than this, payments included, is taken over in parts under several names.</summary>
    public const int MostLines = 200_000;

    private const string OtherBook = "select key from contracts.command_keys where starts_with(key, $1) limit 1";

    private readonly CommandPipeline pipeline;
    private readonly Writer writer;

    internal BookIntake(CommandPipeline pipeline)
    {
        this.pipeline = pipeline;
        writer = pipeline.Writer;
    }

    /// <summary>Decides a book, holds it against its control totals and records it, or only says what would come of it.</summary>
    /// <param name="book">The book.</param>
    /// <param name="totals">What the shop says it comes to.</param>
    /// <param name="dryRun">Whether nothing is to be written whatever comes of it.</param>
    /// <param name="progress">Told each time a contract and its payments were decided.</param>
    /// <param name="stop">Gives up before anything is written.</param>
    public Task<TakeOverOutcome> TakeAsync(OldBook book, ControlTotals totals, bool dryRun, Action<int>? progress, CancellationToken stop = default)
    {
        var mode = writer.Settings.SimulatedClock ? ClockMode.Simulated : ClockMode.Real;
        var needs = new Needs(
            [book.FirstKey], [.. book.Contracts.Select(one => one.Signing.Contract)], [.. book.Contracts.Select(one => one.Serial).Distinct(StringComparer.Ordinal)]);
        return pipeline.InTurnAsync(
            () => writer.RunAsync(mode, needs, async (scope, desk) =>
            {
                var outcome = await TakeAsync(scope, desk, book, totals, dryRun, progress, stop).ConfigureAwait(false);
                if (outcome.Recorded is null) { desk.Findings.Abandon(); }
                return outcome;
            }, stop), stop);
    }

    private async Task<TakeOverOutcome> TakeAsync(
        WriteScope scope, BatchDecider desk, OldBook book, ControlTotals totals, bool dryRun, Action<int>? progress, CancellationToken stop)
    {
        if (scope.Applied.TryGetValue(book.FirstKey, out _)) { return new TakeOverOutcome(null, true, 0, 0, null, [], null); }
        if (await scope.TextsAsync(OtherBook, book.AnyKey, stop).ConfigureAwait(false) is [var other])
        {
            return Refused(new Refusal(
                RefusalCode.BookAlreadyTakenOver, $"A book '{book.Shape.Book}' was taken over before, with other content ({TakenOver.Of(other)?.Digest ?? other}). "
                + "What is wrong in it is put right by commands; further contracts are a book of another name.", "book"));
        }

        Instant? asked = writer.Settings.SimulatedClock ? scope.Clock.Last : null;
        if (desk.Moment(asked, out var at) is { } untimely) { return Refused(untimely); }
        var context = desk.ContextAt(at);
        if (totals.AsOf > context.RecordingDate)
        {
            return Refused(new Refusal(
                RefusalCode.BookMappingInvalid, "Control totals, 'asOf': the day is not over yet.", "asOf", Moments.Text(context.RecordingDate)));
        }

        var payments = book.Payments.ToLookup(one => one.Payment.Contract, StringComparer.Ordinal);
        var (faults, accounts, deemed) = (new List<BookFault>(), new List<ReconciledContract>(), 0);
        foreach (var contract in book.InOrder())
        {
            stop.ThrowIfCancellationRequested();
            var (made, fault) = await DecideAsync(scope, desk, book, contract, payments[contract.Signing.Contract], totals.AsOf, asked, context, stop).ConfigureAwait(false);
            if (fault is not null) { faults.Add(fault); }
            deemed += made;
            var history = scope.Contract(contract.Signing.Contract).History;
            var state = history.IsSigned ? AccountFold.At(history, scope.Rates, totals.AsOf) : null;
            accounts.Add(new ReconciledContract(contract, state is null ? null : Account.Of(state, at)));
            progress?.Invoke(1 + made + payments[contract.Signing.Contract].Count());
        }

        var events = desk.Findings.Events.Count;
        if (faults.Count > 0)
        {
            var ordered = faults.OrderBy(one => one.IsPayment).ThenBy(one => one.Line).ToList();
            return new TakeOverOutcome(null, false, 0, deemed, null, ordered, ordered[0].Refusal);
        }

        var compared = Reconciliation.Of(totals, accounts);
        if (compared.Refusal(totals) is { } differs) { return new TakeOverOutcome(null, false, 0, deemed, compared, [], differs); }
        return new TakeOverOutcome(dryRun ? null : at, false, events, deemed, compared, [], null);
    }

    /// <summary>Signs a contract, pays what was paid, and ends what has ended; stops at the first command that the rules refuse.</summary>
    private static async Task<(int Deemed, BookFault? Fault)> DecideAsync(
        WriteScope scope, BatchDecider desk, OldBook book, BookContract contract, IEnumerable<BookPayment> named, LocalDate asOf, Instant? at, DecisionContext context,
        CancellationToken stop)
    {
        if (await ApplyAsync(contract.Row, contract.Signing, BookColumn.OfContracts).ConfigureAwait(false) is { } unsigned) { return (0, unsigned); }
        if (contract.PlanEnd is { } end && await ApplyAsync(contract.Row, end, [new BookColumn("planEndedOn", BookForm.Day, "on")]).ConfigureAwait(false) is { } unended)
        {
            return (0, unended);
        }

        var deemed = 0;
        if (contract.HasDeemedPayments)
        {
            var (made, wrong) = DeemedPayments.Of(contract, book.Shape, scope.Contract(contract.Signing.Contract).History, context.Rates, asOf);
            if (made is null) { return (0, wrong); }
            foreach (var payment in made)
            {
                if (await ApplyAsync(contract.Row, payment, [new BookColumn("paidThrough", BookForm.Day, "on")]).ConfigureAwait(false) is { } unpaid) { return (deemed, unpaid); }
                deemed++;
            }
        }

        foreach (var one in named.OrderBy(one => one.Payment.On).ThenBy(one => one.Row.Line))
        {
            if (await ApplyAsync(one.Row, one.Payment, BookColumn.OfPayments).ConfigureAwait(false) is { } unpaid) { return (deemed, unpaid); }
        }

        if (contract.Ending is not { } ending) { return (deemed, null); }
        var day = ending.Body is ContractCommand.Return ? "returnedOn" : "boughtOn";
        BookColumn[] columns = [new(day, BookForm.Day, "on"), new("boughtFor", BookForm.Amount, "amount")];
        return (deemed, await ApplyAsync(contract.Row, ending, columns).ConfigureAwait(false));

        async Task<BookFault?> ApplyAsync(BookRow row, Command.OnContract command, IReadOnlyList<BookColumn> from) =>
            await desk.DecideAsync(new CommandRequest(command, at), stop).ConfigureAwait(false) is CommandResult.Refused { Refusal: var refusal }
                ? row.Fault(BookColumn.Of(refusal.Field, from), refusal)
                : null;
    }

    private static TakeOverOutcome Refused(Refusal refusal) => new(null, false, 0, 0, null, [], refusal);
}
