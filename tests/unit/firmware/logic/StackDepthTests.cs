// How deep the logic's stack can get: the deepest chain of calls from Machine.Update that the IL allows, in frames and
// in evaluation slots. Every override that a virtual call could mean is followed.

using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Drives;
using Hourhinge.SharedMath.Profile;
using Mono.Cecil;
using Mono.Cecil.Cil;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic;

public sealed class StackDepthTests(ITestOutputHelper output)
{
    // The small runtime keeps arguments, locals and the evaluation stack of a frame as 12-byte cells, and about 80
    // bytes of its own for a frame (from memory).
    private const int CellBytes = 12;
    private const int FrameBytes = 80;

    private readonly Dictionary<MethodDefinition, (int Cells, List<MethodDefinition> Path)> _known = [];
    private readonly HashSet<MethodDefinition> _open = [];
    private readonly List<TypeDefinition> _types = [];

    [Theory]
    [InlineData(nameof(Machine), nameof(Machine.Update), 6000)]
    [InlineData(nameof(Controller), nameof(Controller.Update), 3000)]
    public void The_deepest_stack_fits_a_small_controller(string type, string method, int mostBytes)
    {
        using ModuleDefinition math = ModuleDefinition.ReadModule(typeof(ProfileCodec).Assembly.Location);
        using ModuleDefinition logic = ModuleDefinition.ReadModule(typeof(Machine).Assembly.Location);
        _types.AddRange(math.Types);
        _types.AddRange(logic.Types);
        MethodDefinition root = _types.Single(t => t.Name == type).Methods.Single(m => m.Name == method);
        (int cells, List<MethodDefinition> path) = Deepest(root);
        int bytes = (cells * CellBytes) + (path.Count * FrameBytes);
        output.WriteLine($"{type}.{method}: {path.Count} frames, {cells} cells, about {bytes} bytes: "
            + $"{string.Join(" > ", path.Select(m => m.DeclaringType.Name + "." + m.Name))}");
        Assert.InRange(bytes, 200, mostBytes);
    }

    private (int Cells, List<MethodDefinition> Path) Deepest(MethodDefinition method)
    {
        if (_known.TryGetValue(method, out (int Cells, List<MethodDefinition> Path) known))
        {
            return known;
        }

        _open.Add(method);
        int deepest = 0;
        List<MethodDefinition> path = [];
        foreach (MethodDefinition callee in method.Body.Instructions.SelectMany(Callees).Distinct())
        {
            // The chooser passes a call on to another drive, never to itself.
            bool isItself = method.DeclaringType.Name == nameof(DriveChooser)
                && callee.DeclaringType == method.DeclaringType
                && callee.Name == method.Name;
            if (isItself || !callee.HasBody)
            {
                continue;
            }

            Assert.DoesNotContain(callee, _open);
            (int cells, List<MethodDefinition> below) = Deepest(callee);
            if (Weight(cells, below.Count) > Weight(deepest, path.Count))
            {
                deepest = cells;
                path = below;
            }
        }

        _open.Remove(method);
        int own = method.Parameters.Count + (method.IsStatic ? 0 : 1) + method.Body.Variables.Count
            + method.Body.MaxStackSize;
        return _known[method] = (own + deepest, [method, .. path]);
    }

    private static int Weight(int cells, int frames) => (cells * CellBytes) + (frames * FrameBytes);

    private IEnumerable<MethodDefinition> Callees(Instruction i)
    {
        if (i.OpCode.Code is not (Code.Call or Code.Callvirt or Code.Newobj) || i.Operand is not MethodReference called)
        {
            return [];
        }

        TypeDefinition? type = _types.Find(t => t.FullName == called.DeclaringType.FullName);
        return type == null
            ? []
            : _types.Where(t => t == type || (i.OpCode.Code == Code.Callvirt && Derives(t, type)))
                .SelectMany(t => t.Methods)
                .Where(m => m.Name == called.Name && m.Parameters.Select(x => x.ParameterType.FullName)
                    .SequenceEqual(called.Parameters.Select(x => x.ParameterType.FullName)));
    }

    private bool Derives(TypeDefinition type, TypeDefinition from)
    {
        for (TypeDefinition? t = type; t != null; t = _types.Find(b => b.FullName == t.BaseType?.FullName))
        {
            if (t == from)
            {
                return true;
            }
        }

        return false;
    }
}
