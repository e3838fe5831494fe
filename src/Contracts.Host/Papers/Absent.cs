using System.Globalization;
using System.Text.Encodings.Web;
using Contracts.Papers;
using Fluid.Values;

namespace Contracts.Host.Papers;

/// <summary>
/// What the data say is not there, such as a law pack that is not recorded. A template can ask for it and must not print
/// it; a name that the data do not have at all is an error of its own.
/// </summary>
internal sealed class Absent : FluidValue
{
    public static readonly Absent Value = new();

    private Absent() { }

    public override FluidValues Type => FluidValues.Boolean;

    public override bool Equals(FluidValue other) => other is Absent or NilValue;

    public override bool ToBooleanValue() => false;

    public override decimal ToNumberValue() => throw Printed();

    public override string ToStringValue() => throw Printed();

    public override object ToObjectValue() => this;

    public override ValueTask WriteToAsync(TextWriter writer, TextEncoder encoder, CultureInfo cultureInfo) => throw Printed();

    private static PressException Printed() => new("a template prints what the data say is not there");
}
