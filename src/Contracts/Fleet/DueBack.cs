using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;
using NodaTime;

namespace Contracts.Fleet;

/// <summary>A swapped unit that is not back: until when it may come without a fee, and what has been done about it.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Swap">The key of the swap.</param>
/// <param name="Serial">The unit that is due back.</param>
/// <param name="SwappedOn">The day of the swap.</param>
/// <param name="ReturnBy">The last day without a fee.</param>
/// <param name="Fee">What it costs the family if it does not come back, as told with the swap.</param>
/// <param name="Label">The last label the family was given for it, or null.</param>
/// <param name="LabelOn">When.</param>
/// <param name="IsCharged">Whether the fee is charged by this day.</param>
/// <param name="RemindFrom">The first day on which a reminder is due.</param>
/// <param name="NeedsReminder">Whether one is due on this day: not earlier, and not once the fee is charged.</param>
public sealed record DueBack(
    string Contract, string Swap, string Serial, LocalDate SwappedOn, LocalDate ReturnBy, Money Fee, string? Label, LocalDate? LabelOn, bool IsCharged,
    LocalDate RemindFrom, bool NeedsReminder)
{
    /// <summary>The place of the swap in the store's order of recording, which names it for ever.</summary>
    public long Sequence { get; init; }

    /// <summary>How many days before the last day a reminder is due; common practice, no source.</summary>
    public const int UsualDaysBefore = 5;

    /// <summary>
    /// The swapped units of a contract that are not back at the end of a day, by the day they are due. Pure: whoever runs it daily sends a reminder
    /// for each that needs one, under a key made of the swap's and the day's, so that none is sent twice.
    /// </summary>
    /// <param name="state">The account on the day.</param>
    /// <param name="daysBefore">How many days before the last day a reminder is due.</param>
    public static ImmutableArray<DueBack> Of(AccountState state, int daysBefore = UsualDaysBefore)
    {
        var out1 = new List<DueBack>();
        foreach (var fact in state.History.Facts)
        {
            if (fact.Event.On > state.On) { break; }
            if (state.IsOvertaken(fact.Sequence)) { continue; }
            switch (fact.Event)
            {
                case ContractEvent.InstrumentSwapped e when !HandedIn(state, e.Outgoing, fact): out1.Add(Waiting(state, e, fact, daysBefore)); break;
                case ContractEvent.UnitReceived e: out1.RemoveAll(one => one.Serial == e.Serial); break;
                case ContractEvent.LabelIssued e:
                    var index = out1.FindIndex(one => one.Serial == e.Serial);
                    if (index >= 0) { out1[index] = out1[index] with { Label = $"{e.Carrier} {e.Reference}", LabelOn = e.On }; }
                    break;
                default: break; // Nothing about a unit that is due back.
            }
        }

        return [.. out1.OrderBy(one => one.ReturnBy)];
    }

    private static DueBack Waiting(AccountState state, ContractEvent.InstrumentSwapped swap, Recorded fact, int daysBefore)
    {
        var charged = state.On > swap.ReturnBy;
        var from = LocalDate.Max(swap.On, swap.ReturnBy.PlusDays(-daysBefore));
        return new DueBack(
            state.History.Contract, fact.Key, swap.Outgoing, swap.On, swap.ReturnBy, swap.UnreturnedFee, null, null, charged, from, !charged && state.On >= from)
        {
            Sequence = fact.Sequence,
        };
    }

    /// <summary>Whether the unit was handed in before the swap that makes it due back, and not handed out since.</summary>
    private static bool HandedIn(AccountState state, string serial, Recorded swap)
    {
        var back = false;
        foreach (var fact in state.History.Facts)
        {
            if (fact.Sequence == swap.Sequence) { break; }
            if (state.IsOvertaken(fact.Sequence)) { continue; }
            back = fact.Event switch
            {
                ContractEvent.UnitReceived e when e.Serial == serial => true,
                ContractEvent.InstrumentSwapped e when e.Serial == serial => false,
                ContractEvent.InstrumentExchanged e when e.Instrument.Serial == serial => false,
                ContractEvent.Reinstated => false,
                _ => back,
            };
        }

        return back;
    }
}
