using Contracts.Agreements;

namespace Contracts.Bank;

/// <summary>
/// Adds the lines of a statement up as they are read. Opening balance + lines = closing balance, to the cent, or no line of the file is
/// used: a line that is missing or there twice would be a family's money.
/// </summary>
public sealed class StatementTotal
{
    private long notBooked;
    private Money notBookedSum = Money.Zero;

    /// <summary>What the account held before the first line, where the file says so.</summary>
    public Money? Opening { get; set; }

    /// <summary>What it held after the last one, where the file says so.</summary>
    public Money? Closing { get; set; }

    /// <summary>How many lines the file says it has, where it does.</summary>
    public long? SaidLines { get; set; }

    /// <summary>What the file says its lines add up to regardless of direction, where it does.</summary>
    public Money? SaidSum { get; set; }

    /// <summary>How many lines were read.</summary>
    public long Lines { get; private set; }

    /// <summary>Money in.</summary>
    public Money Credits { get; private set; }

    /// <summary>Money out.</summary>
    public Money Debits { get; private set; }

    /// <summary>Whether anything in the file stands for its completeness, so that a line which cannot be read makes the whole unusable.</summary>
    public bool CanBeHeld => Closing is not null || SaidSum is not null || SaidLines is not null;

    /// <summary>Counts a line.</summary>
    public void Add(Money amount, bool isCredit)
    {
        Lines++;
        if (isCredit) { Credits += amount; } else { Debits += amount; }
    }

    /// <summary>Counts an entry that the bank has not booked yet: no line, and some banks count it in what they say.</summary>
    public void AddNotBooked(Money amount) => (notBooked, notBookedSum) = (notBooked + 1, notBookedSum + amount);

    /// <summary>Why the file does not add up, or null where it does or says nothing to hold it against.</summary>
    /// <param name="name">The statement, as the file names it.</param>
    public Refusal? Fault(string name)
    {
        if (Opening is { } opening && Closing is { } closing && opening + Credits - Debits != closing)
        {
            var right = opening + Credits - Debits;
            return new Refusal(
                RefusalCode.MoneyFileDoesNotAddUp,
                $"Statement {name}: {opening} at the beginning + {Credits} in - {Debits} out is {right}, and it says {closing} at the end. No line of it was used.",
                "closing balance", right.ToString());
        }

        if (SaidLines is { } lines && lines != Lines && lines != Lines + notBooked)
        {
            return new Refusal(
                RefusalCode.MoneyFileDoesNotAddUp, $"Statement {name} says it has {lines} lines and has {Lines}. No line of it was used.", "number of lines",
                    Lines.ToString(System.Globalization.CultureInfo.InvariantCulture));
        }

        return SaidSum is { } sum && sum != Credits + Debits && sum != Credits + Debits + notBookedSum
            ? new Refusal(
                RefusalCode.MoneyFileDoesNotAddUp, $"Statement {name} says its lines add up to {sum}, and they add up to {Credits + Debits}. No line of it was used.",
                "sum of lines", (Credits + Debits).ToString())
            : null;
    }
}
