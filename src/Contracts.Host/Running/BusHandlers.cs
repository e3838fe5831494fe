using Contracts.Host.Counter;
using Contracts.Host.Jobs;
using Contracts.Host.Serving;
using JasperFx.CodeGeneration;
using Wolverine;

namespace Contracts.Host.Running;

/// <summary>
/// The handlers of the bus. The code that Wolverine puts around a handler was written once and is compiled with the host
/// (the folder Generated), so that no command waits for a compiler at run time. A test holds it against what Wolverine
/// would write today, and writes it anew when asked to.
/// </summary>
public static class BusHandlers
{
    public static void Add(WolverineOptions options)
    {
        options.Discovery.DisableConventionalDiscovery();
        options.Discovery.IncludeType(typeof(CommandHandler));
        options.Discovery.IncludeType(typeof(CommandMessageHandler));
        options.Discovery.IncludeType(typeof(RunDayHandler));
        options.ApplicationAssembly = typeof(BusHandlers).Assembly;
        options.CodeGeneration.TypeLoadMode = TypeLoadMode.Static;
    }
}
