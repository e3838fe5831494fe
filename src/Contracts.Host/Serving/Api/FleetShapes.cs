using Microsoft.OpenApi;
using static Contracts.Host.Serving.Api.Shapes;

namespace Contracts.Host.Serving.Api;

/// <summary>The shapes of answers about units (docs/instruments.md).</summary>
internal static class FleetShapes
{
    /// <summary>One unit.</summary>
    public static OpenApiSchema Unit() => Closed(
        "One unit as of a day: where it is, who had it, what it earned.",
        ("serial", Text()), ("kind", Text()), ("on", Day()), ("known", Moment()),
        ("status", OneOf("not-yet", "in-store", "to-inspect", "ready", "on-contract", "due-back", "in-repair", "owned", "sold", "lost", "retired")),
        ("kept", Flag("Whether it was acquired as a unit.")), ("contract", OrNull(Text("The contract that has it, or whose family does."))),
        ("inStoreSince", OrNull(Day())), ("grade", OrNull(Text())),
        ("inspection", OrNull(Closed("The last one.", ("on", Day()), ("checklist", Text()), ("inspector", Text()), ("passed", Flag())))),
        ("shipment", OrNull(Closed("To the family that has it.", ("on", Day()), ("contract", Text()), ("carrier", Text()), ("reference", Text()), ("deliveredOn", OrNull(Day()))))),
        ("earned", Closed("Paid for it.", ("rent", Money()), ("sale", Money()), ("notReturned", Money("After a swap.")), ("total", Money()))),
        ("cost", OrNull(Money("Null where nobody said so."))), ("repair", Money()), ("net", Money("Earned less cost and repairs.")),
        ("uses", List(Closed(
            null, ("contract", Text()), ("from", Day()), ("until", OrNull(Day())),
            ("end", OneOf("on-contract", "due-back", "swapped", "returned", "owned", "lost", "found")), ("backOn", OrNull(Day())),
            ("rent", Money()), ("sale", Money()), ("notReturned", Money())))),
        ("events", List(Closed(
            null, ("sequence", Count()), ("on", Day()), ("recordedAt", Moment()), ("event", Match("^[a-z_]+$", "Its stored name.")), ("says", Text()), ("money?", Money()),
            ("by?", Text()), ("reason?", Text()), ("key", Text())))));

    /// <summary>The fleet over a span of days.</summary>
    public static OpenApiSchema Fleet() => Closed(
        "The fleet by kind, and by month what went out and came back.",
        ("from", Day()), ("through", Day()), ("known", Moment()),
        ("kinds", List(Closed(
            null, ("kind", Text()), ("units", Count()), ("acquired", Count("Of them acquired as units.")), ("daysOwned", Count()), ("daysPlaced", Count()),
            ("utilisation", Match(@"^\d\.\d{4}$", "Days placed of days owned."))))),
        ("months", List(Closed(null, ("month", Text()), ("kind", Text()), ("wentOut", Count()), ("cameBack", Count()), ("owned", Count("Became a family's."))))));

    /// <summary>A swapped unit that is not back.</summary>
    public static OpenApiSchema DueBack() => Closed(
        "A swapped unit that is not back.",
        ("contract", Text()), ("swap", Text("The key of the swap.")), ("serial", Text()), ("swappedOn", Day()), ("returnBy", Day()), ("fee", Money("If it does not come back.")),
        ("label", OrNull(Text())), ("labelOn", OrNull(Day())), ("charged", Flag()), ("remindFrom", Day()), ("needsReminder", Flag("On this day.")));
}
