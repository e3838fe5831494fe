using Contracts.Agreements;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Quotes;

/// <summary>Decides whether a quote can be given, and makes it of the rates known when it is.</summary>
public static class QuoteDesk
{
    /// <summary>The quote as it would be recorded, or why it cannot be; exactly one of the two answers is given.</summary>
    /// <param name="command">What is to be quoted.</param>
    /// <param name="context">The rates and the quotes known, and the recording date.</param>
    public static (Quote? Quote, Refusal? Refusal) Give(Command.GiveQuote command, DecisionContext context) =>
        Fault(command, context) is { } refusal ? (null, refusal) : (QuoteMaker.Make(command.Offer, context.Rates), null);

    private static Refusal? Fault(Command.GiveQuote command, DecisionContext context)
    {
        var on = Iso(command.On);
        if (command.On > context.RecordingDate.PlusDays(ContractDecider.FurthestAheadDays)) { return ContractDecider.TooFarAhead(command.On, context); }
        if (context.Quotes?.ContainsKey(command.Quote) ?? false)
        {
            return new Refusal(RefusalCode.QuoteAlreadyGiven, $"A quote '{command.Quote}' has been given already.", "quote");
        }

        if (command.Offer.StartOn < command.On)
        {
            return new Refusal(RefusalCode.StartBeforeSigning, "A contract cannot start before its quote is given.", "startOn", on);
        }

        return command.ValidThrough < command.On
            ? new Refusal(RefusalCode.QuoteEndsBeforeGiven, "A quote holds at least on the day it is given.", "validThrough", on)
            : QuoteMaker.Fault(command.Offer, context.Rates);
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
