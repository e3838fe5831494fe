using Microsoft.OpenApi;
using static Contracts.Host.Serving.Api.Shapes;

namespace Contracts.Host.Serving.Api;

/// <summary>The shape of a dispute.</summary>
internal static class DisputeShapes
{
    /// <summary>A dispute with both readings.</summary>
    public static OpenApiSchema Dispute() => Closed(
        "A dispute as it stands on a day, and both readings of the day in question.",
        ("contract", Text()), ("dispute", Text("Its name.")), ("standing", OneOf("open", "answered", "closed")), ("openedOn", Day()), ("openedAt", Moment()),
        ("openedBy", OrNull(Text())), ("claim", OneOf([.. Agreements.DisputeWords.Claims])), ("says", Text("The claim in few words.")),
        ("about", OrNull(Text("The key of the fact or paper it is about."))),
        ("papers", List(Closed(null, ("on", Day()), ("title", Text()), ("digest", Digest())))),
        ("answers", List(Closed(
            null, ("key", Text("The answer's paper is issued for it.")), ("on", Day()), ("finding", OneOf([.. Agreements.DisputeWords.Findings])), ("says", Text()),
            ("by", OrNull(Text()))))),
        ("closedOn", OrNull(Day())), ("outcome", OrNull(Text("How it ended."))), ("onHold", Flag("Whether the contract is on hold.")),
        ("ground", OrNull(Text("The ground of the hold."))),
        ("readings", Closed(
            "The day in question as it was said, by the paper or by what was known when the dispute was opened, and as it is.",
            ("on", Day()), ("saidAt", Moment()), ("figures", List(Closed(null, ("figure", Text()), ("said", Text()), ("isSo", Text())))), ("same", Count()),
            ("since", List(Text("The key of a fact that was recorded since.")))))
        );
}
