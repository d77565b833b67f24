#include "tests/published/ode_solver.hpp"

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_context.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <algorithm>
#include <stdexcept>
#include <string>
#include <utility>

namespace firstglow::published {
namespace {

constexpr double kTolerance = 1e-10;
constexpr long kLargestStepCount = 1'000'000;

void require(bool good, const char* what) {
  if (!good) {
    throw std::runtime_error(std::string("CVODE: ") + what);
  }
}

}  // namespace

struct OdeSolver::Impl {
  OdeProblem problem;
  SUNContext context = nullptr;
  N_Vector y = nullptr;
  SUNMatrix matrix = nullptr;
  SUNLinearSolver linear = nullptr;
  void* memory = nullptr;
  double time = 0.0;
  std::vector<int> directions;

  Impl(OdeProblem wanted, const std::vector<double>& start)
      : problem(std::move(wanted)), directions(static_cast<std::size_t>(problem.root_count)) {
    require(SUNContext_Create(nullptr, &context) == 0, "no context");
    const auto size = static_cast<sunindextype>(start.size());
    y = N_VNew_Serial(size, context);
    require(y != nullptr, "no vector");
    std::copy(start.begin(), start.end(), N_VGetArrayPointer(y));
    memory = CVodeCreate(CV_BDF, context);
    require(memory != nullptr, "no memory");
    require(CVodeInit(memory, rate, 0.0, y) == CV_SUCCESS, "CVodeInit");
    require(CVodeSStolerances(memory, kTolerance, kTolerance) == CV_SUCCESS, "tolerances");
    matrix = SUNDenseMatrix(size, size, context);
    linear = SUNLinSol_Dense(y, matrix, context);
    require(CVodeSetLinearSolver(memory, linear, matrix) == CV_SUCCESS, "linear solver");
    require(CVodeSetUserData(memory, this) == CV_SUCCESS, "user data");
    require(CVodeSetMaxNumSteps(memory, kLargestStepCount) == CV_SUCCESS, "step count");
    if (problem.root_count > 0) {
      require(CVodeRootInit(memory, problem.root_count, roots) == CV_SUCCESS, "rootfinding");
    }
  }
  ~Impl() {
    CVodeFree(&memory);
    SUNLinSolFree(linear);
    SUNMatDestroy(matrix);
    N_VDestroy(y);
    SUNContext_Free(&context);
  }
  Impl(const Impl&) = delete;
  Impl& operator=(const Impl&) = delete;

  static int rate(realtype t, N_Vector y, N_Vector result, void* self) {
    static_cast<Impl*>(self)->problem.rate(t, N_VGetArrayPointer(y), N_VGetArrayPointer(result));
    return 0;
  }
  static int roots(realtype t, N_Vector y, realtype* result, void* self) {
    static_cast<Impl*>(self)->problem.roots(t, N_VGetArrayPointer(y), result);
    return 0;
  }
};

OdeSolver::OdeSolver(OdeProblem problem, const std::vector<double>& start)
    : impl_(std::make_unique<Impl>(std::move(problem), start)) {}

OdeSolver::~OdeSolver() = default;

bool OdeSolver::advance(double until) {
  require(CVodeSetStopTime(impl_->memory, until) == CV_SUCCESS, "stop time");
  const int answer = CVode(impl_->memory, until, impl_->y, &impl_->time, CV_NORMAL);
  require(answer >= 0, "step failed");
  if (answer != CV_ROOT_RETURN) {
    return false;
  }
  require(CVodeGetRootInfo(impl_->memory, impl_->directions.data()) == CV_SUCCESS, "root info");
  require(CVodeReInit(impl_->memory, impl_->time, impl_->y) == CV_SUCCESS, "restart");
  return true;
}

double OdeSolver::time() const { return impl_->time; }

std::vector<double> OdeSolver::state() const {
  const double* first = N_VGetArrayPointer(impl_->y);
  return {first, first + N_VGetLength(impl_->y)};
}

const std::vector<int>& OdeSolver::root_directions() const { return impl_->directions; }

}  // namespace firstglow::published
