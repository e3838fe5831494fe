using System.CommandLine;
using System.Globalization;
using Contracts.Agreements;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Households;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Households;

/// <summary>`contracts household statement`: all contracts of a family over a span of days, and how one payment would be dealt out over them.</summary>
internal static class HouseholdStatementCommand
{
    public static Command Build()
    {
        var household = new Argument<string>("household") { Description = "The household's reference, such as H-0417." };
        var from = CommonOptions.On("--from");
        from.Description = "The first day; the day of the first signing when left out.";
        var through = CommonOptions.On("--through");
        through.Description = "The last day; today when left out.";
        var pay = new Option<string>("--pay") { Description = "Shows how a payment of this amount, made on the last day, would be dealt out; nothing is recorded." };
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new Command(
            "statement", "All contracts of a family: what moved what is owed, and what each owes. Example: contracts household statement H-0417 --pay 60.00")
        {
            household, from, through, pay, known,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(through), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                var (amount, fault) = Amount(parse.GetValue(pay));
                if (fault is not null) { return session.Refuse(fault); }
                var question = new HouseholdQuestion(parse.GetRequiredValue(household), parse.GetValue(from), view.On, view.Known, amount);
                var (look, refusal) = await HouseholdLook.ReadAsync(session.Store, question, stop).ConfigureAwait(false);
                if (look is null) { return session.Refuse(refusal!); }
                Print(look, view.Known.At, session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>Reads the amount of a payment; none where nothing was said.</summary>
    internal static (Money? Amount, Refusal? Refusal) Amount(string? text) =>
        text is not { Length: > 0 } ? (null, null)
        : Money.TryParse(text, out var amount) && amount.IsPositive ? (amount, null)
        : (null, new Refusal(RefusalCode.AmountInvalid, "'pay' must be an amount above zero such as 60.00.", "pay"));

    /// <summary>Prints a family's statement.</summary>
    internal static void Print(HouseholdLook look, Instant known, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(look.Json(known));
            return;
        }

        var statement = look.Statement;
        AnsiConsole.WriteLine(
            $"{statement.Household}: from {Iso(statement.From)} through {Iso(statement.Through)}; what is owed less what waits, over all contracts, after each movement");
        var table = AccountPrinter.Plain().AddColumns("on", "contract", "what")
            .AddColumn(new TableColumn("amount").RightAligned()).AddColumn(new TableColumn("balance").RightAligned());
        table.AddRow("", "", "before", "", statement.Opening.ToString());
        foreach (var one in statement.Movements)
        {
            table.AddRow(Iso(one.Movement.On), one.Contract, Markup.Escape(one.Movement.Says), one.Movement.Amount.ToString(), one.Balance.ToString());
        }

        table.AddRow(Iso(statement.Through), "", "after", "", statement.Closing.ToString());
        AnsiConsole.Write(table);
        var contracts = AccountPrinter.Plain().AddColumns("contract", "instrument", "standing");
        foreach (var name in new[] { "past due", "waiting", "equity", "left to own" }) { contracts.AddColumn(new TableColumn(name).RightAligned()); }
        contracts.AddColumn("next due");
        foreach (var one in statement.Contracts)
        {
            contracts.AddRow(
                one.Contract, Markup.Escape($"{one.Kind} {one.Serial}"), one.Status, one.Closing.PastDue.ToString(), one.Closing.UnappliedCredit.ToString(),
                one.Closing.Equity.ToString(), one.Closing.RemainingToOwn.ToString(), one.NextDue is { } next ? $"{next.Amount} on {Iso(next.On)}" : "");
        }

        AnsiConsole.Write(contracts);
        if (look.Shares is { } shares)
        {
            AnsiConsole.WriteLine("A payment would be dealt out so; nothing is recorded:");
            foreach (var share in shares) { AnsiConsole.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  {share.Contract}  {share.Amount}")); }
        }

        AnsiConsole.WriteLine("Rent-to-own disclosure rules vary by state; ask local counsel.");
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
